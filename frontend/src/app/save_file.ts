/** Give a file to the browser to be saved under a name. */
const KEPT_MS = 60_000

/** The longest file name, in letters, without its extension. Setting. */
const LONGEST = 80

/** A file name that every system accepts, with its content and extension: 'Run 2 tracks.gpx'. */
export function fileName(called: string, kind: string, what = ''): string {
  const end = plain(what)
  const name = plain(called).slice(0, LONGEST - end.length)
  return `${[name, end].filter(Boolean).join(' ') || 'coldfield'}.${kind}`
}

const plain = (text: string): string =>
  text.replace(/[\\/:*?"<>|\p{Cc}]+/gu, ' ').replace(/\s+/g, ' ').trim().replace(/^\.+|\.+$/g, '')

export function saveFile(content: Blob, name: string): void {
  const link = document.createElement('a')
  link.href = URL.createObjectURL(content)
  link.download = name
  link.click()
  // The browser reads the file after the click; its memory is released later.
  setTimeout(() => URL.revokeObjectURL(link.href), KEPT_MS)
}
