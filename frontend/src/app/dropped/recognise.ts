/** Read enough of a file to recognise it; nothing is sent anywhere. */

/** The parts of a file used to recognise it. */
export interface Seen {
  name: string
  /** Its beginning as text; all of it if it is small. */
  text: string
  /** Its content as JSON; undefined if it is not JSON, or too large to read here. */
  json: unknown
  head: Uint8Array
  /** The names of the files in a zip, as far as its end lists them. */
  members: string[]
}

const MOST_TEXT_BYTES = 5_000_000
const TAIL_BYTES = 256_000

export async function lookInto(file: File): Promise<Seen> {
  const bytes = new Uint8Array(await file.slice(0, MOST_TEXT_BYTES).arrayBuffer())
  const zip = starts(bytes, [0x50, 0x4b])
  const text = zip || starts(bytes, [0x49, 0x49, 0x2a, 0]) || starts(bytes, [0x4d, 0x4d, 0, 0x2a]) ? '' : decoded(bytes)
  const tail = zip ? new Uint8Array(await file.slice(Math.max(0, file.size - TAIL_BYTES)).arrayBuffer()) : new Uint8Array()
  return { name: file.name, text, json: parsed(text), head: bytes.subarray(0, 16), members: membersIn(tail) }
}

export const starts = (bytes: Uint8Array, with_: readonly number[]): boolean => with_.every((byte, i) => bytes[i] === byte)

function decoded(bytes: Uint8Array): string {
  const wide = starts(bytes, [0xff, 0xfe]) ? 'utf-16le' : starts(bytes, [0xfe, 0xff]) ? 'utf-16be' : 'utf-8'
  return new TextDecoder(wide).decode(bytes).trimStart()
}

function parsed(text: string): unknown {
  if (!/^[[{]/.test(text)) return undefined
  try {
    return JSON.parse(text)
  } catch {
    return undefined
  }
}

/** The names in the central directory of a zip, which is at its end. */
function membersIn(tail: Uint8Array): string[] {
  const found: string[] = []
  const words = new TextDecoder()
  for (let i = 0; i + 46 < tail.length; i++) {
    if (tail[i] !== 0x50 || !starts(tail.subarray(i, i + 4), [0x50, 0x4b, 1, 2])) continue
    const length = (tail[i + 28] ?? 0) + 256 * (tail[i + 29] ?? 0)
    found.push(words.decode(tail.subarray(i + 46, i + 46 + length)))
  }
  return found
}

/** The column names of a table, in lower case; none if the first line is not a header. */
export function columns(text: string): string[] {
  const first = text.slice(0, 4000).split(/\r?\n/, 1)[0] ?? ''
  return first.split(/[,;\t]/).map((cell) => cell.trim().replace(/^"|"$/g, '').trim().toLowerCase())
}
