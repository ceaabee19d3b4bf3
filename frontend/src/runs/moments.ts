/** The moment of a split or observation: shown since the alarm if that is known, typed either way. */
import { minutesSeconds, onDayOf, readTyped, timeOfDay } from './times'

export interface Moment {
  time_unix_s?: number | null | undefined
  since_alarm_s?: number | null | undefined
}

export function shownMoment(row: Moment, alarm_unix_s: number | null, zone?: string): string {
  if (typeof row.since_alarm_s === 'number') return minutesSeconds(row.since_alarm_s)
  if (typeof row.time_unix_s !== 'number') return ''
  return alarm_unix_s === null ? timeOfDay(row.time_unix_s, zone) : minutesSeconds(row.time_unix_s - alarm_unix_s)
}

/** A moment in the form of a record. */
export interface SetMoment {
  time_unix_s: number | null
  since_alarm_s: number | null
}

/** The typed moment; null if it is not one. A row with a time of day keeps that form. */
export function typedMoment(
  text: string,
  row: Moment | null,
  alarm_unix_s: number | null,
  held_utc: string,
  zone?: string,
): SetMoment | null {
  const typed = readTyped(text)
  if (!typed) return null
  if ('clock_s' in typed) return { time_unix_s: onDayOf(held_utc, typed.clock_s, zone), since_alarm_s: null }
  const absolute = row && typeof row.time_unix_s === 'number' && alarm_unix_s !== null
  return absolute
    ? { time_unix_s: alarm_unix_s + typed.since_s, since_alarm_s: null }
    : { time_unix_s: null, since_alarm_s: typed.since_s }
}

/** Compare by moment; rows without a moment come last. */
export function byMoment(a: Moment, b: Moment, alarm_unix_s: number | null): number {
  return orderOf(a, alarm_unix_s) - orderOf(b, alarm_unix_s)
}

function orderOf({ time_unix_s, since_alarm_s }: Moment, alarm_unix_s: number | null): number {
  if (typeof since_alarm_s === 'number') return since_alarm_s
  return typeof time_unix_s === 'number' ? time_unix_s - (alarm_unix_s ?? 0) : Number.MAX_VALUE
}

/** Whether some rows count from the alarm and others have a time of day, with nothing to relate the two. */
export function mixed(rows: readonly Moment[], alarm_unix_s: number | null): boolean {
  return (
    alarm_unix_s === null &&
    rows.some(({ time_unix_s }) => typeof time_unix_s === 'number') &&
    rows.some(({ since_alarm_s }) => typeof since_alarm_s === 'number')
  )
}
