/** Dates in fields, in the order of the reader's language; ISO 8601 everywhere else. */
import { currentLocale, say } from '../words'

const [FIRST_YEAR, LAST_YEAR] = [1970, 2099]
const NOON = 'T12:00:00Z'

type Part = 'day' | 'month' | 'year'

interface Order {
  parts: readonly Part[]
  between: string
}

/** The order in which a language writes day, month and year in digits, and the separator. */
function orderOf(locale: string): Order {
  const parts = new Intl.DateTimeFormat(locale, { day: '2-digit', month: '2-digit', year: 'numeric', timeZone: 'UTC' }).formatToParts(0)
  return {
    parts: parts.flatMap(({ type }) => (type === 'day' || type === 'month' || type === 'year' ? [type] : [])),
    between: (parts.find(({ type }) => type === 'literal')?.value ?? '/').trim() || '/',
  }
}

const two = (n: number): string => String(n).padStart(2, '0')

/** '14/02/2026' for '2026-02-14'; with a time '14/02/2026 09:30' for '2026-02-14T09:30'. '' stays ''. */
export function dateText(iso: string, locale = currentLocale()): string {
  const found = /^(\d{4})-(\d{2})-(\d{2})(?:T(\d{2}:\d{2}))?/.exec(iso)
  if (!found) return ''
  const [, year = '', month = '', day = '', time] = found
  const { parts, between } = orderOf(locale)
  const date = parts.map((part) => ({ day, month, year })[part]).join(between)
  return time ? `${date} ${time}` : date
}

/** The format hint for a date: 'DD/MM/YYYY', in the letters of the language. */
export function dateHint(time = false, locale = currentLocale()): string {
  const { parts, between } = orderOf(locale)
  const letters = { day: say('date.dd'), month: say('date.mm'), year: say('date.yyyy') }
  const date = parts.map((part) => letters[part]).join(between)
  return time ? `${date} ${say('date.hhmm')}` : date
}

/** '14 February 2026' with the weekday, and the time if there is one. */
export function dateWords(iso: string, locale = currentLocale()): string {
  const [date = '', time] = iso.split('T')
  if (!date) return ''
  const words = new Intl.DateTimeFormat(locale, { weekday: 'short', day: 'numeric', month: 'long', year: 'numeric', timeZone: 'UTC' }).format(new Date(date + NOON))
  return time ? `${words}, ${time}` : words
}

/**
 * Read a typed date: digits in the order of the language, the month as a word, or ISO 8601; null if it is not a date between 1970 and 2099.
 */
export function readDate(text: string, locale = currentLocale()): string | null {
  const iso = /^\s*(\d{4})-(\d{1,2})-(\d{1,2})\s*$/.exec(text)
  if (iso) return checked(Number(iso[1]), Number(iso[2]), Number(iso[3]))
  const figures = text.match(/\d+/g)?.map(Number) ?? []
  const word = /\p{L}{3,}/u.exec(text.replace(/\b(?:de|di|den|der)\b/giu, ''))?.[0]
  if (word) {
    const month = monthOf(word, locale)
    const [day = 0, year = 0] = figures
    return month && figures.length === 2 ? checked(whole(year), month, day) : null
  }
  if (figures.length !== 3 || /[^\d\s./\-–]/.test(text)) return null
  const at = Object.fromEntries(orderOf(locale).parts.map((part, i) => [part, figures[i] ?? 0])) as Record<Part, number>
  return checked(whole(at.year), at.month, at.day)
}

/** Read a date followed by a time of day; null if either is missing. */
export function readMoment(text: string, locale = currentLocale()): string | null {
  const found = /^(.*?)[\sT,]+(\d{1,2})[:.h](\d{2})(?::00)?\s*([ap])?\.?m?\.?\s*$/i.exec(text.trim())
  if (!found) return null
  const date = readDate(found[1] ?? '', locale)
  const half = found[4]?.toLowerCase()
  const [told, minute] = [Number(found[2]), Number(found[3])]
  if (half && (told < 1 || told > 12)) return null
  const hour = half ? (told % 12) + (half === 'p' ? 12 : 0) : told
  return date && hour < 24 && minute < 60 ? `${date}T${two(hour)}:${two(minute)}` : null
}

/** The date a number of days later. */
export function daysLater(iso: string, days: number): string {
  const [date = '', time] = iso.split('T')
  const at = new Date(date + NOON)
  at.setUTCDate(at.getUTCDate() + days)
  const later = checked(at.getUTCFullYear(), at.getUTCMonth() + 1, at.getUTCDate()) ?? date
  return time ? `${later}T${time}` : later
}

const whole = (year: number): number => (year < 100 ? 2000 + year : year)

function checked(year: number, month: number, day: number): string | null {
  const at = new Date(Date.UTC(year, month - 1, day))
  const real = at.getUTCFullYear() === year && at.getUTCMonth() === month - 1 && at.getUTCDate() === day
  return real && year >= FIRST_YEAR && year <= LAST_YEAR ? `${year}-${two(month)}-${two(day)}` : null
}

const plain = (word: string): string => word.normalize('NFKD').replace(/\p{M}/gu, '').toLowerCase()

/** The month whose name starts with a word of at least three letters, in the language or in English; 0 if none or several match. */
function monthOf(word: string, locale: string): number {
  for (const one of [locale, 'en']) {
    const format = new Intl.DateTimeFormat(one, { month: 'long', timeZone: 'UTC' })
    const found = Array.from({ length: 12 }, (_, i) => i + 1).filter((month) => plain(format.format(Date.UTC(2026, month - 1, 5))).startsWith(plain(word)))
    if (found.length === 1) return found[0] ?? 0
  }
  return 0
}
