/** Where the names of a chart's lines stand: by their line, clear of every line, of the mark and of each other. */
import type { Rectangle } from '../plan/labels'
import type { Point } from '../plan/point'

export interface Named {
  name: string
  /** The line in pixels, from left to right. */
  points: readonly Point[]
  /** Where along x the name stands if there is room. */
  at: number
}

export interface Placed {
  name: string
  x: number
  /** The baseline of the words. */
  y: number
}

/** Of words of the usual size: a letter, above the baseline, below it, and the air to a line. */
const [LETTER_PX, UP_PX, DOWN_PX, AIR_PX] = [7.4, 11, 4, 4]
const TRIES = 40

/** The height of a line at x, straight between its points. */
function heightAt(points: readonly Point[], x: number): number {
  const k = points.findIndex((point) => point[0] >= x)
  const [b, a] = [points[k < 0 ? points.length - 1 : k], points[k < 0 ? points.length - 1 : Math.max(0, k - 1)]]
  if (!a || !b) return Number.NaN
  return b[0] === a[0] ? b[1] : a[1] + ((b[1] - a[1]) * (x - a[0])) / (b[0] - a[0])
}

/** How far a line lies from a box, up or down; nought where it passes through. */
function distance(points: readonly Point[], box: Rectangle): number {
  const inside = points.filter((point) => point[0] > box.x && point[0] < box.x + box.width).map((point) => point[1])
  const heights = [heightAt(points, box.x), ...inside, heightAt(points, box.x + box.width)]
  const [top, bottom] = [Math.min(...heights), Math.max(...heights)]
  return Math.max(0, box.y - bottom, top - (box.y + box.height))
}

const overlap = (a: Rectangle, b: Rectangle): boolean =>
  a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height

/** Place the names within the room; `mark` is the x of a line from top to bottom, `times` how large text is. */
export function placeNames(lines: readonly Named[], room: Rectangle, mark: number | null, times = 1): Placed[] {
  const taken: Rectangle[] = mark === null ? [] : [{ x: mark - 1, y: room.y, width: 2, height: room.height }]
  return lines.map(({ name, points, at }) => {
    const [width, height] = [name.length * LETTER_PX * times, (UP_PX + DOWN_PX) * times]
    let best = { cost: Infinity, box: { x: room.x, y: room.y, width, height } }
    for (let k = 0; k <= TRIES; k++) {
      const x = room.x + (k / TRIES) * Math.max(0, room.width - width)
      const own = [heightAt(points, x), heightAt(points, x + width / 2), heightAt(points, x + width)]
      for (const y of [Math.min(...own) - AIR_PX - height, Math.max(...own) + AIR_PX]) {
        if (y < room.y || y + height > room.y + room.height) continue
        const box = { x, y, width, height }
        const [mine, others] = [distance(points, box), Math.min(Infinity, ...lines.filter((line) => line.points !== points).map((line) => distance(line.points, box)))]
        const crossed = Number(mine < 1) + Number(others < AIR_PX) + taken.filter((other) => overlap(box, other)).length
        // A name nearer to another line than to its own would be read as that one's.
        const cost = 1e4 * crossed + (others < mine ? 1e3 : 0) + Math.abs(x - at) + 3 * mine
        if (cost < best.cost) best = { cost, box }
      }
    }
    taken.push(best.box)
    return { name, x: best.box.x, y: best.box.y + UP_PX * times }
  })
}
