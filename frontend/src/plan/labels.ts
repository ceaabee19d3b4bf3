/** Words on the plan that keep out of each other's way. */
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
  /** Top-left corners to try, the best first. */
  tries: Point[]
  /** Shown even where no try is free; others are left out. */
  must: boolean
}

export interface Placed extends Rectangle {
  key: string
}

/** Distance between a place and the words that belong to it, in pixels. */
const OFF = 9

/** Corners beside a place: right above, left above, right below, left below, then farther off. */
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

/** Corners that put the middle of the words on a place, or just above or below it. */
export function upon([x, y]: Point, width: number, height: number): Point[] {
  return [0, -height, height, -2 * height, 2 * height].map((dy) => [x - width / 2, y - height / 2 + dy])
}

/** Place labels one after the other, each at its first try that is free and inside the bounds. */
export function placeLabels(labels: readonly Label[], taken: readonly Rectangle[], bounds: Rectangle): Placed[] {
  const boxes: Rectangle[] = [...taken]
  const placed: Placed[] = []
  for (const { key, width, height, tries, must } of labels) {
    const options = tries.map(([x, y]): Placed => ({ key, width, height, x, y }))
    const free = options.find((box) => within(box, bounds) && boxes.every((other) => !overlap(box, other)))
    const chosen = free ?? (must ? (options.find((box) => within(box, bounds)) ?? options[0]) : undefined)
    if (!chosen) continue
    boxes.push(chosen)
    placed.push(chosen)
  }
  return placed
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

/** A square about a place that words should not cover. */
export function around([x, y]: Point, half: number): Rectangle {
  return { x: x - half, y: y - half, width: 2 * half, height: 2 * half }
}
