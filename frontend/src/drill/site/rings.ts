/** The ground's rings: area, editing of corners, drawing by hand. */
import type { Point } from '../../plan/point'
import { boxOf, distance_m, inside, keptPoints, nearestOnSegment } from '../../plan/polyline'
import type { DrillDocument, Site } from '../document'

/** Which ring of the ground: its boundary, or one of its holes. */
export type RingName = 'boundary' | number

export const ringsOf = (site: Site): { name: RingName; ring: Point[] }[] => [
  { name: 'boundary', ring: site.boundary_m },
  ...site.holes_m.map((ring, name) => ({ name, ring })),
]

export function ringIn(site: Site, name: RingName): Point[] {
  return name === 'boundary' ? site.boundary_m : (site.holes_m[name] ?? [])
}

/** Area in plan, m². */
export function area_m2(ring: readonly Point[]): number {
  let twice = 0
  ring.forEach(([x, y], i) => {
    const [u, v] = ring[(i + 1) % ring.length] ?? [0, 0]
    twice += x * v - u * y
  })
  return Math.abs(twice) / 2
}

/** Area of the ground on the snow, m²: the area in plan, enlarged by the even slope. */
export function groundArea_m2(site: Site): number {
  const plan = area_m2(site.boundary_m) - site.holes_m.reduce((sum, hole) => sum + area_m2(hole), 0)
  return plan / Math.cos((site.slope_deg * Math.PI) / 180)
}

/** The share of the ground within one metre of its boundary, which shows the effect of corners one metre out. */
export function metreAllRound(site: Site): number {
  const ring = site.boundary_m
  return ring.reduce((sum, corner, i) => sum + distance_m(corner, ring[(i + 1) % ring.length] ?? corner), 0) / groundArea_m2(site)
}

export const middleOf = (a: Point, b: Point): Point => [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2]

/** The corner after which a new one belongs, on the nearest side. */
export function sideNear(ring: readonly Point[], place: Point): number {
  let best = 0
  let least = Infinity
  ring.forEach((from, i) => {
    const to = ring[(i + 1) % ring.length] ?? from
    const away = distance_m(place, nearestOnSegment(place, from, to).place)
    if (away < least) [least, best] = [away, i]
  })
  return best
}

/** A ring with fewer corners; removed ones are at most this far from its line. */
export function simplified(ring: readonly Point[], tolerance_m: number): Point[] {
  const [first] = ring
  if (!first || ring.length < 5) return [...ring]
  const kept = keptPoints([...ring, first], tolerance_m).slice(0, -1)
  const points = kept.flatMap((i) => (ring[i] ? [ring[i]] : []))
  return points.length >= 3 ? points : [...ring]
}

/** Whether any two sides of a ring, or of a line that is not closed yet, cross. */
export function crosses(ring: readonly Point[], closed = true): boolean {
  const sides = ring.map((a, i): [Point, Point] => [a, ring[(i + 1) % ring.length] ?? a])
  if (!closed) sides.pop()
  return sides.some(([a, b], i) =>
    sides.some(([c, d], k) => k > i + 1 && !(closed && i === 0 && k === sides.length - 1) && turn(a, b, c) !== turn(a, b, d) && turn(c, d, a) !== turn(c, d, b)),
  )
}

const turn = (a: Point, b: Point, c: Point): boolean => (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]) > 0

/** The point on a ring's edge nearest to a place. */
export function nearestEdge(ring: readonly Point[], place: Point): Point {
  const side = sideNear(ring, place)
  const from = ring[side] ?? place
  return nearestOnSegment(place, from, ring[(side + 1) % ring.length] ?? from).place
}

/** Whether a ring is completely inside another one; their lines may touch. */
function within(inner: readonly Point[], outer: readonly Point[]): boolean {
  const lies = (place: Point): boolean => inside(place, [outer]) || distance_m(place, nearestEdge(outer, place)) < 0.05
  const cut = inner.some((a, i) => {
    const b = inner[(i + 1) % inner.length] ?? a
    return outer.some((c, k) => {
      const d = outer[(k + 1) % outer.length] ?? c
      return turn(a, b, c) !== turn(a, b, d) && turn(c, d, a) !== turn(c, d, b) && [a, b].every((end) => distance_m(end, nearestOnSegment(end, c, d).place) > 0.05)
    })
  })
  return !cut && inner.every(lies)
}

/** A site with a new boundary: what still fits, and what had to change. */
export interface Redrawn {
  holes_m: Point[][]
  entry_m: Point
  /** How far the entry was moved, m: to the nearest edge if it was outside. */
  entryMoved_m: number
  /** The number of excluded areas that cross the new boundary and were therefore removed. */
  holesLost: number
  /** Ids of burials that are now outside; they are not moved. */
  outside: string[]
}

export function redrawn({ site, burials }: Pick<DrillDocument, 'site' | 'burials'>, ring: readonly Point[]): Redrawn {
  const holes_m = site.holes_m.filter((hole) => within(hole, ring))
  const fits = inside(site.entry_m, [ring]) || distance_m(site.entry_m, nearestEdge(ring, site.entry_m)) < 0.05
  const [east, north] = fits ? site.entry_m : nearestEdge(ring, site.entry_m)
  const entry_m: Point = fits ? site.entry_m : [Math.round(east * 10) / 10, Math.round(north * 10) / 10]
  return {
    holes_m,
    entry_m,
    entryMoved_m: fits ? 0 : distance_m(entry_m, site.entry_m),
    holesLost: site.holes_m.length - holes_m.length,
    outside: burials.filter(({ position_m }) => !inside(position_m, [ring])).map(({ id }) => id),
  }
}

/** A place on the ground near a wished one (default: the middle), for things that must be on it. */
export function onGround(site: Pick<Site, 'boundary_m' | 'holes_m'>, wish?: Point): Point {
  const rings = [site.boundary_m, ...site.holes_m]
  const { west, east, south, north } = boxOf(site.boundary_m)
  const near: Point = wish ?? [(west + east) / 2, (south + north) / 2]
  const tries = [near]
  for (let row = 1; row < 12; row++)
    for (let column = 1; column < 12; column++)
      tries.push([west + ((east - west) * column) / 12, south + ((north - south) * row) / 12])
  const inner = tries.filter((place) => inside(place, rings))
  inner.sort((a, b) => distance_m(a, near) - distance_m(b, near))
  return inner[0] ?? near
}

/** The number of corners that can be distinguished on a plan of the whole ground. */
export const MANY_CORNERS = 60

/** The corners of a ring that are at least this far from the last one kept; always the first. */
export function apart(ring: readonly Point[], least_m: number): Set<number> {
  const found = new Set<number>()
  let last: Point | undefined
  ring.forEach((place, index) => {
    if (last && Math.hypot(place[0] - last[0], place[1] - last[1]) < least_m) return
    found.add(index)
    last = place
  })
  return found
}
