/**
 * Codes that belong together, read in any order: `KIND.part.parts.SUM.BODY.CHECK`, with the kind `CFR1` for a run
 * that goes to the phone (coldfield.files.run_code writes it) and `CFD1` for a day that comes back from it.
 */
import { type Packed, packed, sumOf, unpacked } from './packing'

export type Kind = 'CFR1' | 'CFD1'

/**
 * The length of the body of one code on a phone's screen: with its header it fits version 12, level M (419 characters; ISO/IEC 18004, from memory). To a laptop's camera half a metre away the phone looks small. Setting.
 */
export const MOST_SIGNS = 394
/** The most codes that people will film; more go into a file. */
export const MOST_PARTS = 99

/** Why a code is refused. */
export type Fault = 'foreign' | 'newer' | 'other way' | 'damaged' | 'mixed'

interface Part {
  part: number
  parts: number
  sum: string
  body: string
}

/** Split a text into the texts of its codes, of about equal length; null if there would be too many. */
export async function inParts(kind: Kind, text: string): Promise<string[] | null> {
  const { sum, body } = await packed(text)
  const parts = Math.ceil(body.length / MOST_SIGNS)
  if (parts > MOST_PARTS) return null
  const each = Math.ceil(body.length / parts)
  const texts = Array.from({ length: parts }, (_, i) => `${kind}.${i + 1}.${parts}.${sum}.${body.slice(i * each, (i + 1) * each)}`)
  return texts.map((part) => `${part}.${checkOf(part)}`)
}

/** The lower half of a part's checksum, so that a single code read wrongly is noticed. */
const checkOf = (part: string): string => sumOf(new TextEncoder().encode(part)).slice(4)

function partOf(text: string, kind: Kind): Part | Fault {
  const [own = ''] = text.split('.', 1)
  if (!/^CF[RD]\d{1,3}$/.test(own)) return 'foreign'
  if (own.slice(0, 3) !== kind.slice(0, 3)) return 'other way'
  if (own !== kind) return 'newer'
  const found = /^\w+\.([1-9]\d?)\.([1-9]\d?)\.([0-9A-F]{8})\.([A-Z2-7]+)\.([0-9A-F]{4})$/.exec(text)
  const [, part, parts, sum, body, check] = found ?? []
  if (!sum || !body || Number(part) > Number(parts) || check !== checkOf(text.slice(0, -5))) return 'damaged'
  return { part: Number(part), parts: Number(parts), sum, body }
}

/** The codes read so far. The first code says which others belong to it; a foreign one changes nothing. */
export class Parts {
  private first: Part | null = null
  private readonly bodies = new Map<number, string>()

  constructor(readonly kind: Kind) {}

  /** Add a text that the camera read. */
  take(text: string): 'taken' | 'there already' | Fault {
    const part = partOf(text, this.kind)
    if (typeof part === 'string') return part
    this.first ??= part
    if (part.sum !== this.first.sum || part.parts !== this.first.parts) return 'mixed'
    const there = this.bodies.get(part.part)
    if (there !== undefined) return there === part.body ? 'there already' : 'damaged'
    this.bodies.set(part.part, part.body)
    return 'taken'
  }

  /** The total number of codes; 0 until one was read. */
  get parts(): number {
    return this.first?.parts ?? 0
  }

  get missing(): number[] {
    return Array.from({ length: this.parts }, (_, i) => i + 1).filter((part) => !this.bodies.has(part))
  }

  get complete(): boolean {
    return this.first !== null && !this.missing.length
  }

  /** The complete text; null if a part is missing or the checksum does not match. */
  async text(): Promise<string | null> {
    if (!this.first || !this.complete) return null
    const body = Array.from({ length: this.parts }, (_, i) => this.bodies.get(i + 1)).join('')
    return unpacked({ sum: this.first.sum, body } satisfies Packed)
  }
}
