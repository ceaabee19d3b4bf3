/** Times of a rehearsal for people; `words/quantities` defines their digits. */
import type { SchemaAllClearAnswer } from '../../api/schema'
import { say } from '../../words'
import { duration } from '../../words/format'
import { about as predicted, halfMinutes } from '../../words/quantities'
import { signed } from './signed'

export const about = (seconds: number | null | undefined): string => (seconds === null || seconds === undefined ? duration(null) : predicted(seconds))

interface Band {
  p10: number | null
  p90: number | null
}

/** The wider of the two bands: the scatter of runs alone, or with the constants also drawn. */
export function wider(all: Pick<SchemaAllClearAnswer, 'unsure' | 'seconds'>): Band {
  const width = ({ p10, p90 }: Band): number => (p10 === null ? 0 : (p90 ?? Infinity) - p10)
  const [unsure, runs] = [width(all.unsure), width(all.seconds)]
  return runs > unsure || (runs === unsure && runs === Infinity && (all.seconds.p10 ?? 0) < (all.unsure.p10 ?? 0)) ? all.seconds : all.unsure
}

/** The horizon as in commands and pictures: '60 min'. */
export const wholeMinutes = (seconds: number): string => say('time.min', { m: Math.round(seconds / 60) })

/** A percentile of a time, as text; null: later than the horizon. */
export function aboutBy(seconds: number | null | undefined, horizon_s: number): string {
  return seconds === null || seconds === undefined ? say('rehearsal.later', { time: wholeMinutes(horizon_s) }) : about(seconds)
}

/** The range of eight of ten runs, p10 to p90; null: later than the horizon. */
export function eightOfTen(band: { p10: number | null; p90: number | null } | undefined, horizon_s: number): string {
  if (!band) return say('none.value')
  if (band.p10 === null) return aboutBy(null, horizon_s)
  return band.p90 === null ? say('rehearsal.range', { low: about(band.p10), high: aboutBy(null, horizon_s) }) : aboutRange(band.p10, band.p90)
}

/** '6½ to 14 min', or each with its own unit if one of them is in seconds. */
export function aboutRange(low: number, high: number): string {
  const [from, to] = [halfMinutes(low), halfMinutes(high)]
  if (from !== null && to !== null) return say('rehearsal.minutes', { low: from, high: to })
  return say('rehearsal.range', { low: about(low), high: about(high) })
}

/** A difference of minutes with its uncertainty: seconds below two minutes. */
export function difference(minutes: number, error: number): string {
  if (Math.abs(minutes) >= 2) return say('rehearsal.plusMinus', { value: signed(minutes, true, 1), error: signed(Math.max(error, 0.1), false, 1) })
  return say('rehearsal.plusMinusS', { value: signed(60 * minutes, true, 0), error: signed(Math.max(60 * error, 1), false, 0) })
}

/** The minute by which a share of all runs is done; null: never. */
export function minuteOf(byMinute: readonly number[], share: number): number | null {
  const found = byMinute.findIndex((done) => done >= share)
  return found < 0 ? null : found
}

/** Cut a line of shares by minute after its last change. */
export function untilSettled(byMinute: readonly number[]): [number, number][] {
  const last = byMinute.at(-1) ?? 0
  const settled = byMinute.findIndex((done) => done >= last - 0.005)
  const end = Math.min(byMinute.length - 1, Math.max(5, settled + 2))
  return byMinute.slice(0, end + 1).map((done, minute) => [minute, done])
}
