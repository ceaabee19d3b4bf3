/** Times of a rehearsal as people say them: whole minutes from six on, tens of seconds below. */
import { duration } from '../../words/format'

export function about(seconds: number | null | undefined): string {
  if (seconds === null || seconds === undefined) return duration(null)
  const step = seconds >= 360 ? 60 : seconds >= 60 ? 10 : 1
  return duration(Math.round(seconds / step) * step)
}

/** The minute by which a share of all runs is done; null: never. */
export function minuteOf(byMinute: readonly number[], share: number): number | null {
  const found = byMinute.findIndex((done) => done >= share)
  return found < 0 ? null : found
}

/** Cut a line of shares by the minute where nothing more happens. */
export function untilSettled(byMinute: readonly number[]): [number, number][] {
  const last = byMinute.at(-1) ?? 0
  const settled = byMinute.findIndex((done) => done >= last - 0.005)
  const end = Math.min(byMinute.length - 1, Math.max(5, settled + 2))
  return byMinute.slice(0, end + 1).map((done, minute) => [minute, done])
}
