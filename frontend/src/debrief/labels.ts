/** Words on the plan that keep out of each other's way. */
import type { Point } from './document'

export interface Label {
  key: string
  at: Point
  width: number
  height: number
}

export interface Placed extends Label {
  x: number
  y: number
}

/** Distance between a place and the words that belong to it, in pixels. */
const OFF = 9

/** Top-left corners for a label's box, the preferred first: right above, left above, right below ... */
function corners({ at: [x, y], width, height }: Label): Point[] {
  const up = y - OFF - height
  return [
    [x + OFF, up],
    [x - OFF - width, up],
    [x + OFF, y + OFF],
    [x - OFF - width, y + OFF],
    [x - width / 2, up - 10],
    [x - width / 2, y + OFF + 10],
    [x + OFF + 24, y - height / 2],
    [x - OFF - 24 - width, y - height / 2],
  ]
}

/** Place labels one after the other, each at its first corner that is free; the first one where none is. */
export function placeLabels(labels: readonly Label[], taken: readonly Placed[] = []): Placed[] {
  const placed: Placed[] = [...taken]
  return labels.map((label) => {
    const tries = corners(label).map(([x, y]): Placed => ({ ...label, x, y }))
    const free = tries.find((box) => placed.every((other) => !overlap(box, other)))
    const chosen = free ?? (tries[0] as Placed)
    placed.push(chosen)
    return chosen
  })
}

function overlap(a: Placed, b: Placed): boolean {
  return a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height
}
