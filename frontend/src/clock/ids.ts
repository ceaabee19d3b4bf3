/** Random ids: letters and figures only, so that they can stand anywhere. */
const SIGNS = 'ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789'
/** Read aloud and typed with cold hands: no vowels, so no words, and nothing that looks like something else. */
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

/** A run begun on a phone: its day and six letters, which a second keeper can type in. */
export function newRunId(now: Date): string {
  return runIdOf(drawn(SPOKEN, 6), now)
}

export function runIdOf(code: string, now: Date): string {
  return `n-${now.toISOString().slice(0, 10).replaceAll('-', '')}-${code}`
}

/** The letters of a run that was begun on a phone, else null. */
export function codeOf(run: string): string | null {
  return /^n-\d{8}-([A-Z]{6})$/.exec(run)?.[1] ?? null
}

/** What was typed as a code, put right; null where it cannot be one. */
export function typedCode(typed: string): string | null {
  const code = typed.toUpperCase().replace(/[^A-Z]/g, '')
  return code.length === 6 && [...code].every((sign) => SPOKEN.includes(sign)) ? code : null
}
