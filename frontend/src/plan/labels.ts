/** Place labels on the plan without overlaps. */
import type { Point } from './point'

export interface Rectangle {
  x: number
  y: number
  width: number
  height: number
}

export interface Label {
  key: string
  width: number
  height: number
  /** Top-left corners to try, best first. */
  tries: Point[]
  /** Shown even if no place is free; other labels are left out. */
  must: boolean
}

export interface Placed extends Rectangle {
  key: string
}

/** Distance between a place and its label, in pixels. */
const OFF = 9

/** Corners beside a place: right above, left above, right below, left below, then farther away. */
export function beside([x, y]: Point, width: number, height: number): Point[] {
  const up = y - OFF - height
  return [
    [x + OFF, up],
    [x - OFF - width, up],
    [x + OFF, y + OFF],
    [x - OFF - width, y + OFF],
    [x + OFF + 4, y - height / 2],
    [x - OFF - 4 - width, y - height / 2],
    [x - width / 2, up - 14],
    [x - width / 2, y + OFF + 14],
    [x + OFF + 26, up - 6],
    [x - OFF - 26 - width, y + OFF + 6],
  ]
}

/** Corners that put the middle of the label on a place, or just above or below it. */
export function upon([x, y]: Point, width: number, height: number): Point[] {
  return [0, -height, height, -2 * height, 2 * height].map((dy) => [x - width / 2, y - height / 2 + dy])
}

/** Corners farther and farther from a place on all sides, for labels without room beside it. */
export function about([x, y]: Point, width: number, height: number): Point[] {
  const WAYS = 12
  return [24, 40, 58, 80, 110].flatMap((off) =>
    Array.from({ length: WAYS }, (_, k): Point => {
      const way = (2 * Math.PI * (k + 0.5)) / WAYS
      const [dx, dy] = [Math.cos(way), Math.sin(way)]
      // The nearest corner or side of the box touches the circle.
      return [x + dx * off + ((dx - 1) * width) / 2, y + dy * off + ((dy - 1) * height) / 2]
    }),
  )
}

/** A line that labels avoid, except its own. */
export interface Line {
  points: readonly Point[]
  /** The key of the label that may cover it. */
  of?: string
  /** A fine line under all others; labels avoid it if they can. */
  fine?: boolean
  /** A walked line: only labels that must be shown may cross it, and only if there is no other place. */
  walked?: boolean
}

/** Place labels one after another, each at its first free place within the bounds. */
export function placeLabels(labels: readonly Label[], taken: readonly Rectangle[], bounds: Rectangle, lines: readonly Line[] = []): Placed[] {
  const boxes: Rectangle[] = [...taken]
  const placed: Placed[] = []
  const sides = lines.flatMap(sidesOf)
  for (const { key, width, height, tries, must } of labels) {
    const options = tries.map(([x, y]): Placed => ({ key, width, height, x, y })).filter((box) => within(box, bounds))
    const open = options.filter((box) => boxes.every((other) => !overlap(box, other)))
    const off = (box: Placed, crossed: (side: Side) => boolean): boolean => sides.every((side) => side.of === key || crossed(side) || !cuts(side, box))
    const ways: ((side: Side) => boolean)[] = [() => false, (side) => side.fine, ...(must ? [(side: Side) => side.fine || side.walked] : [])]
    let free: Placed | undefined
    for (const crossed of ways) free ??= open.find((box) => off(box, crossed))
    const chosen = free ?? (must ? (options[0] ?? tries.map(([x, y]) => ({ key, width, height, x, y }))[0]) : undefined)
    if (!chosen) continue
    boxes.push(chosen)
    placed.push(chosen)
  }
  return placed
}

interface Side {
  a: Point
  b: Point
  of: string | undefined
  fine: boolean
  walked: boolean
}

const sidesOf = ({ points, of, fine = false, walked = false }: Line): Side[] => points.slice(1).map((b, k) => ({ a: points[k] ?? b, b, of, fine, walked }))

/** Whether a line segment passes through a box (slab method). */
export function cuts({ a, b }: { a: Point; b: Point }, { x, y, width, height }: Rectangle): boolean {
  let [from, to] = [0, 1]
  for (const [start, end, low, high] of [[a[0], b[0], x, x + width], [a[1], b[1], y, y + height]] as const) {
    if ((start < low && end < low) || (start > high && end > high)) return false
    const run = end - start
    if (run === 0) continue
    const [one, other] = [(low - start) / run, (high - start) / run]
    from = Math.max(from, Math.min(one, other))
    to = Math.min(to, Math.max(one, other))
    if (from > to) return false
  }
  return true
}

export function overlap(a: Rectangle, b: Rectangle): boolean {
  return a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height
}

function within(box: Rectangle, bounds: Rectangle): boolean {
  return (
    box.x >= bounds.x &&
    box.y >= bounds.y &&
    box.x + box.width <= bounds.x + bounds.width &&
    box.y + box.height <= bounds.y + bounds.height
  )
}

/** A square around a place that labels should not cover. */
export function around([x, y]: Point, half: number): Rectangle {
  return { x: x - half, y: y - half, width: 2 * half, height: 2 * half }
}
