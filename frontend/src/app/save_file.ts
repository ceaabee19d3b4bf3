/** Give a file to the browser to be saved under a name. */
const KEPT_MS = 60_000

/** A name that any system takes, with its ending: 'Run 2 tracks.gpx'. */
export function fileName(called: string, kind: string): string {
  const plain = called.replace(/[\\/:*?"<>|\p{Cc}]+/gu, ' ').replace(/\s+/g, ' ').trim().replace(/^\.+|\.+$/g, '').slice(0, 80)
  return `${plain || 'coldfield'}.${kind}`
}

export function saveFile(content: Blob, name: string): void {
  const link = document.createElement('a')
  link.href = URL.createObjectURL(content)
  link.download = name
  link.click()
  // The browser reads it after the press; then its memory is let go.
  setTimeout(() => URL.revokeObjectURL(link.href), KEPT_MS)
}
