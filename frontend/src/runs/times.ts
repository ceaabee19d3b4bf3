/** Times as people type them: '4:20' after the alarm, '10:31:05' on the clock. */

export type Typed = { since_s: number } | { clock_s: number }

const NUMBER = /^\d+([.,]\d+)?$/

/** Read '4:20' or '260' (after the alarm; a minus before it), '10:31:05' (time of day); null if it is neither. */
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

/** '10:31:05' where the reader is. */
export function timeOfDay(unix_s: number): string {
  const at = new Date(Math.round(unix_s) * 1000)
  return [at.getHours(), at.getMinutes(), at.getSeconds()].map((part) => String(part).padStart(2, '0')).join(':')
}

/** The moment of a time of day on the day of another moment, where the reader is; seconds since 1970. */
export function onDayOf(moment_utc: string, clock_s: number): number {
  const day = new Date(moment_utc)
  day.setHours(0, 0, 0, 0)
  day.setSeconds(clock_s)
  return Math.round(day.getTime() / 1000)
}

/** '2026-02-14T09:30', as a field for day and time takes it, where the reader is. */
export function localField(moment_utc: string): string {
  const at = new Date(moment_utc)
  const two = (part: number): string => String(part).padStart(2, '0')
  return `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())}T${two(at.getHours())}:${two(at.getMinutes())}`
}

export function fromLocalField(text: string): string | null {
  const at = new Date(text)
  return Number.isNaN(at.getTime()) ? null : at.toISOString()
}
