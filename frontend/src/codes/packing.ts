/** A text in characters that suit codes and addresses: raw DEFLATE in base 32 (RFC 4648, no '='). */
const SIGNS = 'ABCDEFGHIJKLMNOPQRSTUVWXYZ234567'
/** The largest unpacked text, bytes: as for a day file. */
const MOST_BYTES = 4_000_000

export interface Packed {
  /** The CRC-32 of the text in eight hexadecimal digits. */
  sum: string
  body: string
}

export async function packed(text: string): Promise<Packed> {
  const bytes = new TextEncoder().encode(text)
  return { sum: sumOf(bytes), body: toBase32(await through(bytes, new CompressionStream('deflate-raw'))) }
}

/** The text, or null if it was not read correctly. */
export async function unpacked({ sum, body }: Packed): Promise<string | null> {
  try {
    const packedBytes = fromBase32(body)
    const bytes = packedBytes && (await through(packedBytes, new DecompressionStream('deflate-raw')))
    return bytes && sumOf(bytes) === sum ? new TextDecoder('utf-8', { fatal: true }).decode(bytes) : null
  } catch {
    return null
  }
}

/** Whether this browser can pack and unpack; all can since 2023. */
export const canPack = (): boolean => 'CompressionStream' in globalThis && 'DecompressionStream' in globalThis

async function through(bytes: Uint8Array<ArrayBuffer>, change: CompressionStream | DecompressionStream): Promise<Uint8Array<ArrayBuffer>> {
  const reader = new Blob([bytes]).stream().pipeThrough(change).getReader()
  const parts: Uint8Array[] = []
  let length = 0
  for (let part = await reader.read(); !part.done; part = await reader.read()) {
    parts.push(part.value)
    length += part.value.length
    if (length > MOST_BYTES) {
      await reader.cancel()
      throw new Error('too large')
    }
  }
  const whole = new Uint8Array(length)
  let at = 0
  for (const part of parts) {
    whole.set(part, at)
    at += part.length
  }
  return whole
}

function toBase32(bytes: Uint8Array): string {
  let [text, kept, bits] = ['', 0, 0]
  for (const byte of bytes) {
    kept = ((kept & 31) << 8) | byte
    for (bits += 8; bits >= 5; bits -= 5) text += SIGNS.charAt((kept >> (bits - 5)) & 31)
  }
  return bits ? text + SIGNS.charAt((kept << (5 - bits)) & 31) : text
}

function fromBase32(text: string): Uint8Array<ArrayBuffer> | null {
  const bytes = new Uint8Array(Math.floor((text.length * 5) / 8))
  let [at, kept, bits] = [0, 0, 0]
  for (const sign of text) {
    const value = SIGNS.indexOf(sign)
    if (value < 0) return null
    kept = ((kept << 5) | value) & 0xfff
    bits += 5
    if (bits >= 8) bytes[at++] = (kept >> (bits -= 8)) & 255
  }
  // An extra character, or bits that a writer never sets, mean that something was lost.
  return bits < 5 && (kept & ((1 << bits) - 1)) === 0 ? bytes : null
}

/** The CRC-32 in eight hexadecimal digits. */
export function sumOf(bytes: Uint8Array): string {
  let crc = -1
  for (const byte of bytes) {
    crc ^= byte
    for (let bit = 0; bit < 8; bit++) crc = (crc >>> 1) ^ (crc & 1 ? 0xedb88320 : 0)
  }
  return (~crc >>> 0).toString(16).toUpperCase().padStart(8, '0')
}
