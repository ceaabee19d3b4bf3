"""Read and write drill files, and begin drills from a boundary."""
