/** Dates for people. */
import { currentLocale } from '../words'
import { clock } from '../words/format'

/** The day of a moment (UTC) in the reader's time zone: '14 February 2026'. */
export function dayOf(utc: string | null | undefined): string {
  return clock(utc ?? null)?.day ?? ''
}

/** The same, short enough for a table: '14 Feb 2026'. */
export function shortDay(utc: string | null | undefined): string {
  const at = utc ? new Date(utc) : null
  if (!at || Number.isNaN(at.getTime())) return ''
  return new Intl.DateTimeFormat(currentLocale(), { day: 'numeric', month: 'short', year: 'numeric' }).format(at)
}

/** A calendar date given as YYYY-MM-DD, independent of the time zone. */
export function dateOf(date: string | null | undefined): string {
  return date ? (clock(`${date}T12:00:00Z`, 'UTC')?.day ?? '') : ''
}

/** 'from first to last', or the single day. */
export function span(first: string | null | undefined, last: string | null | undefined): string {
  if (!first) return ''
  return !last || last === first ? dateOf(first) : `${dateOf(first)} – ${dateOf(last)}`
}

/** Today's date in the reader's time zone, as YYYY-MM-DD. */
export function today(now = new Date()): string {
  const two = (value: number): string => String(value).padStart(2, '0')
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`
}
