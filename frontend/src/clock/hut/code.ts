/** Codes of the hut as they come to the phone: typed, or behind the '#' of an address, which is sent to nobody. */

/** What a code adds to its run: entries of the clock, or tracks. */
export type May = 'keeper' | 'track'

export interface Joined {
  may: May
  /** The run as this phone calls it. */
  run: string
  code: string
}

/** Base 32 as Douglas Crockford writes it, without I, L, O and U. */
const SIGNS = '0123456789ABCDEFGHJKMNPQRSTVWXYZ'
const TYPED = 8
const LONG = 13

/** What was typed as a code, put right; null where it cannot be one. */
export function typedHutCode(typed: string): string | null {
  const code = typed.toUpperCase().replace(/[\s-]/g, '').replaceAll('O', '0').replace(/[IL]/g, '1')
  return code.length === TYPED && isCode(code) ? code : null
}

const isCode = (code: string): boolean => [...code].every((sign) => SIGNS.includes(sign))

/** What an address carries: `#hut/keeper/CODE/RUN`, with the run itself as text behind it; null where it is none. */
export function carriedCode(parts: readonly string[]): (Joined & { text: string }) | null {
  const [page, may, code = '', run = '', text = ''] = parts
  if (page !== 'hut' || (may !== 'keeper' && may !== 'track')) return null
  if (code.length !== LONG || !isCode(code) || !/^[A-Za-z0-9][\w-]{0,63}$/.test(run)) return null
  return { may, code, run, text }
}
