/** Where everyone is at a moment, and how the moment advances. Interpolation only. */
import type { DebriefDocument, Phase, Piece, Point, Readings, Searcher } from './document'

export const SPEEDS = [1, 4, 16] as const

/** Index of the last time that is not after `t_s`; -1 before the first. */
export function lastIndex(times: readonly number[], t_s: number): number {
  let [low, high] = [0, times.length]
  while (low < high) {
    const middle = (low + high) >> 1
    if ((times[middle] ?? Infinity) <= t_s) low = middle + 1
    else high = middle
  }
  return low - 1
}

/** Place in a track at a moment; null before its start, after its end and inside a gap. */
export function positionAt(pieces: readonly Piece[], t_s: number): Point | null {
  for (const { t_s: times, position_m } of pieces) {
    const i = lastIndex(times, t_s)
    const [a, b] = [position_m[i], position_m[i + 1]]
    const [ta, tb] = [times[i], times[i + 1]]
    if (!a || ta === undefined) continue
    if (ta === t_s) return a
    if (!b || tb === undefined) continue
    const share = (t_s - ta) / (tb - ta)
    return [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])]
  }
  return null
}

/** The pieces of a track up to a moment, with the last one ending exactly there, without anything before `from_s`. */
export function walkedUntil(pieces: readonly Piece[], t_s: number, from_s = -Infinity): Point[][] {
  const lines: Point[][] = []
  for (const piece of pieces) {
    const i = lastIndex(piece.t_s, t_s)
    if (i < 0 || (piece.t_s.at(-1) ?? 0) < from_s) continue
    const line = piece.position_m.slice(Math.max(0, lastIndex(piece.t_s, from_s)), i + 1)
    const here = positionAt([piece], t_s)
    if (here) line.push(here)
    lines.push(line)
  }
  return lines
}

/** What a receiver read at a moment: metres, null (not heard), or undefined (not known). */
export function readingAt(readings: Readings, t_s: number): number | null | undefined {
  const i = lastIndex(readings.t_s, t_s)
  const at = readings.t_s[i]
  if (at === undefined || t_s - at > 2) return undefined
  return readings.reading_m[i]
}

/** The nearest set a person heard at a moment. */
export function nearestHeard(person: Searcher, t_s: number): { burial: string; reading_m: number } | null {
  let nearest: { burial: string; reading_m: number } | null = null
  for (const readings of person.readings) {
    const reading_m = readingAt(readings, t_s)
    if (typeof reading_m === 'number' && (!nearest || reading_m < nearest.reading_m))
      nearest = { burial: readings.burial, reading_m }
  }
  return nearest
}

/** The first moment at which a person could hear a set; null if never. */
export function firstHeard(person: Searcher, burial: string): number | null {
  const readings = person.readings.find((one) => one.burial === burial)
  const first = readings?.reading_m.findIndex((reading_m) => reading_m !== null) ?? -1
  return readings?.t_s[first] ?? null
}

/** Whether anything is known of what a person could hear at a moment. */
export function hearingKnown(person: Searcher, t_s: number): boolean {
  return person.readings.some((readings) => readingAt(readings, t_s) !== undefined)
}

/** The phase of a person; of several at once the one that began last. */
export function phaseAt(person: Searcher, t_s: number): Phase | null {
  let found: Phase | null = null
  for (const phase of person.phases) {
    if (phase.start_s <= t_s && t_s < phase.end_s && (!found || phase.start_s >= found.start_s)) found = phase
  }
  return found
}

export function idleAt(person: Searcher, t_s: number): boolean {
  return person.idle.some((idle) => idle.start_s <= t_s && t_s < idle.end_s)
}

/** The moment after `real_s` seconds of playing, never past the end. */
export function advance(t_s: number, real_s: number, speed: number, end_s: number): number {
  return Math.min(end_s, t_s + real_s * speed)
}

/** First and last moment of the run; if its end is unknown, the last moment of any data. */
export function span(document: DebriefDocument): { start_s: number; end_s: number } {
  const tracks = document.searchers.flatMap((person) => person.track?.pieces ?? [])
  const start_s = document.run.alarm_utc === null ? Math.min(0, ...tracks.map((piece) => piece.t_s[0] ?? 0)) : 0
  if (document.run.end_s > start_s) return { start_s, end_s: document.run.end_s }
  const ends = [
    ...tracks.map((piece) => piece.t_s.at(-1)),
    ...document.searchers.flatMap((person) => person.phases.map((phase) => phase.end_s)),
    ...document.burials.map((burial) => burial.clear_s),
    ...document.splits.map((split) => split.t_s),
  ]
  return { start_s, end_s: Math.max(start_s + 1, ...ends.map((t_s) => t_s ?? 0)) }
}
