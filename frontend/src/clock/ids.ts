/** Random ids: only letters and digits, so that they can be used anywhere. */
const SIGNS = 'ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789'
/** For reading aloud and typing with cold hands: no vowels, so no words, and no characters that look alike. */
const SPOKEN = 'BCDFGHKMPQRTVWXZ'

function drawn(signs: string, length: number): string {
  let made = ''
  const most = Math.floor(256 / signs.length) * signs.length
  while (made.length < length) {
    for (const byte of crypto.getRandomValues(new Uint8Array(length))) {
      if (byte < most && made.length < length) made += signs.charAt(byte % signs.length)
    }
  }
  return made
}

export const newId = (): string => drawn(SIGNS, 16)

/** The id of a run begun on a phone: its day and six letters, which a second keeper can type in. */
export function newRunId(now: Date): string {
  return runIdOf(drawn(SPOKEN, 6), now)
}

export function runIdOf(code: string, now: Date): string {
  return `n-${now.toISOString().slice(0, 10).replaceAll('-', '')}-${code}`
}

/** The letters of a run begun on a phone, otherwise null. */
export function codeOf(run: string): string | null {
  return /^n-\d{8}-([A-Z]{6})$/.exec(run)?.[1] ?? null
}

/** A typed code in its standard form; null if it cannot be a code. */
export function typedCode(typed: string): string | null {
  const code = typed.toUpperCase().replace(/[^A-Z]/g, '')
  return code.length === 6 && [...code].every((sign) => SPOKEN.includes(sign)) ? code : null
}
