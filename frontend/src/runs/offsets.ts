/** Find clocks that are wrong by hours or days, from the times of the other recordings. */

export interface Span {
  from_s: number
  to_s: number
}

/** Zones and days differ by days, hours, half hours or quarters, s. */
const STEPS_S = [86_400, 3600, 1800, 900]
/** The most time between splits and tracks of one run, s. Setting. */
const MARGIN_S = 600

/** The span of several spans; null for none. */
export function spanOf(spans: readonly Span[]): Span | null {
  if (!spans.length) return null
  return { from_s: Math.min(...spans.map(({ from_s }) => from_s)), to_s: Math.max(...spans.map(({ to_s }) => to_s)) }
}

/** The span of the largest group of overlapping spans, which is the run itself. */
export function mainSpan(spans: readonly Span[]): Span | null {
  let best: Span[] = []
  for (const one of spans) {
    const group = spans.filter(({ from_s, to_s }) => from_s <= one.to_s && to_s >= one.from_s)
    if (group.length > best.length) best = group
  }
  return spanOf(best)
}

/**
 * The shift of a clock, s, that moves its recording to the time of the run: the roundest shift that does so, computed
 * as in `_clock_off_s` of the service. Null if the two overlap already.
 */
export function offsetOf(recorded: Span, rest: Span | null): number | null {
  if (!rest || (recorded.from_s <= rest.to_s + MARGIN_S && recorded.to_s >= rest.from_s - MARGIN_S)) return null
  const away = (rest.from_s + rest.to_s - recorded.from_s - recorded.to_s) / 2
  const near = Math.max(rest.to_s - rest.from_s, recorded.to_s - recorded.from_s) / 2
  const moves = STEPS_S.map((step) => Math.round(away / step) * step)
  return moves.find((moved) => moved !== 0 && Math.abs(away - moved) <= near) ?? (moves.at(-1) || null)
}
