/** Contours of an even slope, which show its direction and steepness at a glance. */
import type { Point } from './point'
import { chords } from './polyline'
import { roundStep } from './view'

export interface Sloping {
  boundary_m: readonly Point[]
  slope_deg: number
  aspect_deg: number
}

/** Contours across the ground at round heights, at least 26 pixels apart at a scale. */
export function linesOfEqualHeight(site: Sloping, scale: number): [Point, Point][] {
  const rise = Math.tan((site.slope_deg * Math.PI) / 180)
  if (rise < 0.01) return []
  const spacing = roundStep(scale * (1 / rise), 26) / rise
  const aspect = (site.aspect_deg * Math.PI) / 180
  const down: Point = [Math.sin(aspect), Math.cos(aspect)]
  const along: Point = [down[1], -down[0]]
  const reach = site.boundary_m.map((p) => p[0] * down[0] + p[1] * down[1])
  const lines: [Point, Point][] = []
  const last = Math.max(...reach)
  for (let s = Math.ceil(Math.min(...reach) / spacing) * spacing; s < last; s += spacing)
    lines.push(...chords(site.boundary_m, [s * down[0], s * down[1]], along))
  return lines
}
