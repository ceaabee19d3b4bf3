/** Clocks that are off by hours or days: how far, as far as the times of the others tell. */

export interface Span {
  from_s: number
  to_s: number
}

const QUARTER_S = 900
/** Splits and tracks of one run lie within so much of each other, s. Setting. */
const MARGIN_S = 600

/** The span of several, null of none. */
export function spanOf(spans: readonly Span[]): Span | null {
  if (!spans.length) return null
  return { from_s: Math.min(...spans.map(({ from_s }) => from_s)), to_s: Math.max(...spans.map(({ to_s }) => to_s)) }
}

/** Of several spans the largest group that overlap each other: the run itself. */
export function mainSpan(spans: readonly Span[]): Span | null {
  let best: Span[] = []
  for (const one of spans) {
    const group = spans.filter(({ from_s, to_s }) => from_s <= one.to_s && to_s >= one.from_s)
    if (group.length > best.length) best = group
  }
  return spanOf(best)
}

/**
 * What a clock has to be moved by, s, so that what it recorded lies where the rest of the run does: whole
 * quarters of an hour, as zones and days differ. Null where they have time in common.
 */
export function offsetOf(recorded: Span, rest: Span | null): number | null {
  if (!rest || (recorded.from_s <= rest.to_s + MARGIN_S && recorded.to_s >= rest.from_s - MARGIN_S)) return null
  const away = (rest.from_s + rest.to_s - recorded.from_s - recorded.to_s) / 2
  const moved = Math.round(away / QUARTER_S) * QUARTER_S
  return moved === 0 ? null : moved
}
