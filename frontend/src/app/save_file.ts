/** Give a file to the browser to be saved under a name. */
const KEPT_MS = 60_000

export function saveFile(content: Blob, name: string): void {
  const link = document.createElement('a')
  link.href = URL.createObjectURL(content)
  link.download = name
  link.click()
  // The browser reads it after the press; then its memory is let go.
  setTimeout(() => URL.revokeObjectURL(link.href), KEPT_MS)
}
