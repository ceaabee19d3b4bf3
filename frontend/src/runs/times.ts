/** Times as people type them: '4:20' after the alarm, '10:31:05' on the clock. */

export type Typed = { since_s: number } | { clock_s: number }

const NUMBER = /^\d+([.,]\d+)?$/

/** Read '4:20' or '260' (after the alarm; with a minus, before it) or '10:31:05' (time of day); otherwise null. */
export function readTyped(text: string): Typed | null {
  const trimmed = text.trim().replace('−', '-')
  const negative = trimmed.startsWith('-')
  const parts = (negative ? trimmed.slice(1) : trimmed).split(':')
  if (!parts.every((part) => NUMBER.test(part)) || parts.length > 3) return null
  const [last = 0, middle = 0, first = 0] = parts.map((part) => Number(part.replace(',', '.'))).reverse()
  if (parts.length > 1 && last >= 60) return null
  if (parts.length < 3) return { since_s: (negative ? -1 : 1) * (middle * 60 + last) }
  if (negative || middle >= 60 || first >= 24) return null
  return { clock_s: first * 3600 + middle * 60 + last }
}

/** '4:20', '75:10', '−0:30': minutes and seconds. */
export function minutesSeconds(seconds: number): string {
  const whole = Math.round(Math.abs(seconds))
  return `${seconds < 0 && whole ? '−' : ''}${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`
}

const two = (part: number): string => String(part).padStart(2, '0')

/** Clock and calendar time in a zone, as milliseconds of the same reading in UTC; default: the reader's zone. */
function reading(unix_ms: number, zone: string | undefined): number {
  const parts = new Intl.DateTimeFormat('en-GB', {
    timeZone: zone,
    hourCycle: 'h23',
    year: 'numeric',
    month: 'numeric',
    day: 'numeric',
    hour: 'numeric',
    minute: 'numeric',
    second: 'numeric',
  }).formatToParts(unix_ms)
  const part = (name: string): number => Number(parts.find(({ type }) => type === name)?.value ?? 0)
  return Date.UTC(part('year'), part('month') - 1, part('day'), part('hour'), part('minute'), part('second'))
}

/** The moment of a clock and calendar time in a zone, in milliseconds. */
function momentOf(reading_ms: number, zone: string | undefined): number {
  const guess = reading_ms - (reading(reading_ms, zone) - reading_ms)
  return reading_ms - (reading(guess, zone) - guess)
}

/** '10:31:05' in a zone; default: the reader's. */
export function timeOfDay(unix_s: number, zone?: string): string {
  const at = new Date(reading(Math.round(unix_s) * 1000, zone))
  return [at.getUTCHours(), at.getUTCMinutes(), at.getUTCSeconds()].map(two).join(':')
}

/** The moment of a time of day on the day of another moment, in a zone; seconds since 1970. */
export function onDayOf(moment_utc: string, clock_s: number, zone?: string): number {
  const day = new Date(reading(new Date(moment_utc).getTime(), zone))
  day.setUTCHours(0, 0, 0, 0)
  return Math.round(momentOf(day.getTime() + clock_s * 1000, zone) / 1000)
}

/** '2026-02-14T09:30' in a zone, for a date and time field. */
export function localField(moment_utc: string, zone?: string): string {
  const moment_ms = new Date(moment_utc).getTime()
  return Number.isNaN(moment_ms) ? '' : new Date(reading(moment_ms, zone)).toISOString().slice(0, 16)
}

export function fromLocalField(text: string, zone?: string): string | null {
  const reading_ms = new Date(`${text}Z`).getTime()
  return Number.isNaN(reading_ms) ? null : new Date(momentOf(reading_ms, zone)).toISOString()
}

/** The short name of a zone on a day, such as 'CET'; default: the reader's zone. */
export function zoneName(moment_utc: string, zone?: string): string {
  const at = new Date(moment_utc)
  if (Number.isNaN(at.getTime())) return ''
  const parts = new Intl.DateTimeFormat('en-GB', { timeZone: zone, timeZoneName: 'short' }).formatToParts(at)
  return parts.find(({ type }) => type === 'timeZoneName')?.value ?? ''
}
