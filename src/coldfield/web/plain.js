// This page takes no files: whatever is dropped on it stays out, and the page says where it goes.
for (const name of ["dragover", "drop"])
  addEventListener(name, (event) => {
    event.preventDefault();
    event.dataTransfer.dropEffect = "none";
    document.getElementById("dropped").hidden = false;
  });
