/** Format numbers for a language, and keep a number together with its unit. */

const formats = new Map<string, Intl.NumberFormat>()

/** Group thousands in every language, as the service does; some locales would begin at 10,000. */
const GROUPED = { useGrouping: true } as const

/** Formats are cached, because they are slow to make and needed many times a second during a drag. */
export function numberFormat(language: string, decimals?: number): Intl.NumberFormat {
  const name = `${language} ${decimals}`
  const found = formats.get(name)
  if (found) return found
  const made = new Intl.NumberFormat(
    language,
    decimals === undefined ? GROUPED : { ...GROUPED, minimumFractionDigits: decimals, maximumFractionDigits: decimals },
  )
  formats.set(name, made)
  return made
}

/** A bare number, to six digits. */
export function significantFormat(language: string): Intl.NumberFormat {
  const name = `${language} six`
  const made = formats.get(name) ?? new Intl.NumberFormat(language, { ...GROUPED, maximumSignificantDigits: 6 })
  formats.set(name, made)
  return made
}

const plurals = new Map<string, Intl.PluralRules>()

export function pluralRules(language: string): Intl.PluralRules {
  const made = plurals.get(language) ?? new Intl.PluralRules(language)
  plurals.set(language, made)
  return made
}

const UNIT = /(?<=[\d½]) (?=(?:m²?|km|cm|mm|s|min|h|%|‰|°|Hz|kHz|dB|m\/s|kg|kB|MB|ko|Mo)(?![\p{L}\d]))/gu

const OF_A_DURATION = /(?<=[\d½]\u00a0(?:h|min)) (?=\d+\u00a0(?:min|s)(?![\p{L}\d]))/gu

/** Prevent line breaks between a number and its unit, and within a duration. */
export function unbroken(text: string): string {
  return text.replace(UNIT, '\u00a0').replace(OF_A_DURATION, '\u00a0')
}
