/** Give a file to the browser to be saved under a name. */
const KEPT_MS = 60_000

/** A file name that every system accepts, with its extension: 'Run 2 tracks.gpx'. */
export function fileName(called: string, kind: string): string {
  const plain = called.replace(/[\\/:*?"<>|\p{Cc}]+/gu, ' ').replace(/\s+/g, ' ').trim().replace(/^\.+|\.+$/g, '').slice(0, 80)
  return `${plain || 'coldfield'}.${kind}`
}

export function saveFile(content: Blob, name: string): void {
  const link = document.createElement('a')
  link.href = URL.createObjectURL(content)
  link.download = name
  link.click()
  // The browser reads the file after the click; its memory is released later.
  setTimeout(() => URL.revokeObjectURL(link.href), KEPT_MS)
}
