/** The share who survive a time under the snow, linear between the published points, as everywhere in Coldfield. */
import type { Curve } from './items'

/** null before the first and after the last point: nothing is known there. */
export function survivalAt(curve: Curve, minutes: number): number | null {
  const after = curve.points.findIndex(([at]) => at !== undefined && at >= minutes)
  const [a, b] = [curve.points[after - 1], curve.points[after]]
  if (after >= 0 && b?.[0] === minutes) return b[1] ?? null
  if (!a || !b) return null
  const [t0 = 0, s0 = 0] = a
  const [t1 = 0, s1 = 0] = b
  return s0 + ((s1 - s0) * (minutes - t0)) / (t1 - t0)
}
