/** Lines and rings in local metres. */
import type { Point } from './point'

/** Indices of the points to keep so that a line changes by at most `tolerance_m` (Ramer, Douglas and Peucker). */
export function keptPoints(line: readonly Point[], tolerance_m: number): number[] {
  if (line.length <= 2) return line.map((_, i) => i)
  const kept = new Uint8Array(line.length)
  kept[0] = kept[line.length - 1] = 1
  const open: [number, number][] = [[0, line.length - 1]]
  for (let span = open.pop(); span; span = open.pop()) {
    const [first, last] = span
    let farthest = -1
    let worst = tolerance_m
    for (let i = first + 1; i < last; i++) {
      const away = toSegment_m(at(line, i), at(line, first), at(line, last))
      if (away > worst) [worst, farthest] = [away, i]
    }
    if (farthest < 0) continue
    kept[farthest] = 1
    open.push([first, farthest], [farthest, last])
  }
  return line.map((_, i) => i).filter((i) => kept[i])
}

/** Distance of a place from a segment. */
export function toSegment_m(place: Point, a: Point, b: Point): number {
  return distance_m(place, nearestOnSegment(place, a, b).place)
}

/** The point of a segment nearest to a place, and its position along the segment (0 to 1). */
export function nearestOnSegment(place: Point, a: Point, b: Point): { place: Point; share: number } {
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]]
  const square = dx * dx + dy * dy
  const along = square ? ((place[0] - a[0]) * dx + (place[1] - a[1]) * dy) / square : 0
  const share = Math.min(1, Math.max(0, along))
  return { place: [a[0] + share * dx, a[1] + share * dy], share }
}

export function distance_m(a: Point, b: Point): number {
  return Math.hypot(a[0] - b[0], a[1] - b[1])
}

/** Whether a place is inside rings by the even-odd rule. */
export function inside(place: Point, rings: readonly (readonly Point[])[]): boolean {
  let odd = false
  for (const ring of rings) {
    for (let i = 0, k = ring.length - 1; i < ring.length; k = i++) {
      const [a, b] = [at(ring, i), at(ring, k)]
      if (a[1] > place[1] !== b[1] > place[1]) {
        if (place[0] < a[0] + ((place[1] - a[1]) / (b[1] - a[1])) * (b[0] - a[0])) odd = !odd
      }
    }
  }
  return odd
}

/** SVG path of lines in metres; rings are closed. */
export function pathOf(lines: readonly (readonly Point[])[], closed = false): string {
  return lines
    .filter((line) => line.length > 1)
    .map((line) => 'M' + line.map((p) => `${round(p[0])} ${round(p[1])}`).join('L') + (closed ? 'Z' : ''))
    .join('')
}

export interface Box {
  west: number
  south: number
  east: number
  north: number
}

export function boxOf(points: readonly Point[]): Box {
  const box = { west: Infinity, south: Infinity, east: -Infinity, north: -Infinity }
  for (const [x, y] of points) {
    box.west = Math.min(box.west, x)
    box.east = Math.max(box.east, x)
    box.south = Math.min(box.south, y)
    box.north = Math.max(box.north, y)
  }
  return points.length ? box : { west: 0, south: 0, east: 1, north: 1 }
}

/** The parts of a straight line inside a convex or concave ring, as pairs of places. */
export function chords(ring: readonly Point[], from: Point, way: Point): [Point, Point][] {
  const crossings: number[] = []
  for (let i = 0, k = ring.length - 1; i < ring.length; k = i++) {
    const [a, b] = [at(ring, k), at(ring, i)]
    const [sideA, sideB] = [cross(way, minus(a, from)), cross(way, minus(b, from))]
    if (sideA > 0 === sideB > 0) continue
    const share = sideA / (sideA - sideB)
    const hit: Point = [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])]
    crossings.push((hit[0] - from[0]) * way[0] + (hit[1] - from[1]) * way[1])
  }
  crossings.sort((a, b) => a - b)
  const pairs: [Point, Point][] = []
  for (let i = 0; i + 1 < crossings.length; i += 2) {
    const ends = [crossings[i] ?? 0, crossings[i + 1] ?? 0].map(
      (s): Point => [from[0] + s * way[0], from[1] + s * way[1]],
    )
    if (ends[0] && ends[1]) pairs.push([ends[0], ends[1]])
  }
  return pairs
}

const cross = (a: Point, b: Point): number => a[0] * b[1] - a[1] * b[0]
const minus = (a: Point, b: Point): Point => [a[0] - b[0], a[1] - b[1]]
const round = (value: number): number => Math.round(value * 100) / 100

function at(line: readonly Point[], index: number): Point {
  const found = line[index]
  if (!found) throw new RangeError(`no point ${index}`)
  return found
}
