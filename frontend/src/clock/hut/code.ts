/** Codes of the hut on the phone: typed, or after the '#' of an address, which is never sent. */

/** What a code may add to its run: entries of the clock, or tracks. */
export type May = 'keeper' | 'track'

export interface Joined {
  may: May
  /** The run's id on this phone. */
  run: string
  code: string
}

/** Crockford's base 32, without I, L, O and U. */
const SIGNS = '0123456789ABCDEFGHJKMNPQRSTVWXYZ'
const TYPED = 8
const LONG = 13

/** A typed code in its standard form; null if it cannot be a code. */
export function typedHutCode(typed: string): string | null {
  const code = typed.toUpperCase().replace(/[\s-]/g, '').replaceAll('O', '0').replace(/[IL]/g, '1')
  return code.length === TYPED && isCode(code) ? code : null
}

const isCode = (code: string): boolean => [...code].every((sign) => SIGNS.includes(sign))

/** The code in an address: `#hut/keeper/CODE/RUN`, followed by the run itself as text; null if there is none. */
export function carriedCode(parts: readonly string[]): (Joined & { text: string }) | null {
  const [page, may, code = '', run = '', text = ''] = parts
  if (page !== 'hut' || (may !== 'keeper' && may !== 'track')) return null
  if (code.length !== LONG || !isCode(code) || !/^[A-Za-z0-9][\w-]{0,63}$/.test(run)) return null
  return { may, code, run, text }
}
