/** Place the names of a chart's lines: near their line, clear of all lines, the mark and each other. */
import type { Rectangle } from '../plan/labels'
import type { Point } from '../plan/point'

export interface Named {
  name: string
  /** The line in pixels, from left to right. */
  points: readonly Point[]
  /** The preferred x position of the name. */
  at: number
}

export interface Placed {
  name: string
  x: number
  /** The baseline of the text. */
  y: number
}

/** Sizes at the default text size: the width of a letter, above and below the baseline, and the gap to a line. */
const [LETTER_PX, UP_PX, DOWN_PX, AIR_PX] = [7.4, 11, 4, 4]
const STEP_PX = 4
/** The penalty for covering a line or a name, larger than that of any distance. */
const CROSSED = 1e4

/** Points along a line, close enough that no text fits between them. */
function along(points: readonly Point[]): Point[] {
  return points.flatMap((end, k) => {
    const start = points[k - 1]
    if (!start) return [end]
    const pieces = Math.max(1, Math.ceil(Math.hypot(end[0] - start[0], end[1] - start[1]) / STEP_PX))
    return Array.from({ length: pieces }, (_, i): Point => {
      const share = (i + 1) / pieces
      return [start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])]
    })
  })
}

/** The distance of a line from a box; 0 if it passes through. */
function distance(points: readonly Point[], box: Rectangle): number {
  let nearest = Infinity
  for (const [x, y] of points) {
    const [dx, dy] = [Math.max(box.x - x, 0, x - box.x - box.width), Math.max(box.y - y, 0, y - box.y - box.height)]
    nearest = Math.min(nearest, Math.hypot(dx, dy))
  }
  return nearest
}

const close = (a: Rectangle, b: Rectangle): boolean =>
  a.x < b.x + b.width + AIR_PX && b.x < a.x + a.width + AIR_PX && a.y < b.y + b.height && b.y < a.y + a.height

/** Place the names within the room; names without a free place are left out. `mark` is the x of a vertical line, `times` the text size. */
export function placeNames(lines: readonly Named[], room: Rectangle, mark: number | null, times = 1): Placed[] {
  const taken: Rectangle[] = mark === null ? [] : [{ x: mark - 1, y: room.y, width: 2, height: room.height }]
  const drawn = lines.map(({ points }) => along(points))
  return lines.flatMap(({ name, at }, k) => {
    const [width, height] = [name.length * LETTER_PX * times, (UP_PX + DOWN_PX) * times]
    const own = drawn[k] ?? []
    const rest = drawn.filter((line) => line !== own)
    let best = { cost: Infinity, box: { x: room.x, y: room.y, width, height } }
    for (let x = room.x; x + width <= room.x + room.width; x += 2 * STEP_PX) {
      for (let y = room.y; y + height <= room.y + room.height; y += STEP_PX) {
        const box = { x, y, width, height }
        const [mine, others] = [distance(own, box), Math.min(Infinity, ...rest.map((line) => distance(line, box)))]
        const crossed = Number(mine < AIR_PX) + Number(others < AIR_PX) + taken.filter((other) => close(box, other)).length
        // A name nearer to another line than to its own would be misread.
        const cost = CROSSED * crossed + (others < 1.5 * mine ? 1e3 : 0) + 0.5 * Math.abs(x + width / 2 - at) + 8 * mine
        if (cost < best.cost) best = { cost, box }
      }
    }
    if (best.cost >= CROSSED) return []
    taken.push(best.box)
    return [{ name, x: best.box.x, y: best.box.y + UP_PX * times }]
  })
}
