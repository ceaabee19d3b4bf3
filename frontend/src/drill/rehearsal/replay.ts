/** Where everybody was in a rehearsed run: interpolation between the corners from the service. */
import type { SchemaTraceAnswer } from '../../api/schema'
import type { Point } from '../../plan/point'

type Trace = SchemaTraceAnswer['traces'][number]

/** The last corner at or before a moment. */
function cornerAt(times: readonly number[], at_s: number): number {
  let [low, high] = [0, times.length - 1]
  while (low < high) {
    const middle = Math.ceil((low + high) / 2)
    if ((times[middle] ?? Infinity) <= at_s) low = middle
    else high = middle - 1
  }
  return low
}

export function placeAt({ t_s, east_m, north_m }: Trace, at_s: number): Point {
  const k = cornerAt(t_s, at_s)
  const place = (i: number): Point => [east_m[i] ?? 0, north_m[i] ?? 0]
  const [from, to] = [t_s[k] ?? 0, t_s[k + 1]]
  if (to === undefined || to <= from) return place(k)
  const share = Math.min(1, Math.max(0, (at_s - from) / (to - from)))
  const [a, b] = [place(k), place(k + 1)]
  return [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])]
}

/** The line walked until a moment. */
export function walkedUntil(trace: Trace, at_s: number): Point[] {
  const k = cornerAt(trace.t_s, at_s)
  const line = trace.t_s.slice(0, k + 1).map((_, i): Point => [trace.east_m[i] ?? 0, trace.north_m[i] ?? 0])
  return [...line, placeAt(trace, at_s)]
}

export function phaseAt({ phases }: Trace, at_s: number): string {
  let phase = phases[0]?.phase ?? 'wait'
  for (const one of phases) if (one.from_s <= at_s) phase = one.phase
  return phase
}
