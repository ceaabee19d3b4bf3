/** Lines of equal value over the places of a map, with linear interpolation between them. */
import type { Point } from '../../plan/point'
import type { Lattice } from './packed'

/** The sides of a cell that a line joins, by the corners above the level (1 SW, 2 SE, 4 NE, 8 NW). */
const JOINS: readonly (readonly [number, number][])[] = [
  [], [[3, 0]], [[0, 1]], [[3, 1]], [[1, 2]], [[3, 0], [1, 2]], [[0, 2]], [[3, 2]],
  [[2, 3]], [[2, 0]], [[0, 1], [2, 3]], [[2, 1]], [[1, 3]], [[1, 0]], [[0, 3]], [],
]

/** Lines along which `values` are `level`, as pairs of ends in metres: x0, y0, x1, y1 ... */
export function piecesAt(lattice: Lattice, values: ArrayLike<number>, level: number): Float64Array {
  return piecesAtAll(lattice, values, [level])[0] ?? new Float64Array()
}

/** The same for several ascending levels at once. Cells where `keep` is 0 at a corner are left out. */
export function piecesAtAll(lattice: Lattice, values: ArrayLike<number>, levels: readonly number[], keep?: Uint8Array): Float64Array[] {
  const { columns, rows } = lattice
  const found = levels.map((): number[] => [])
  for (let j = 0; j + 1 < rows; j++)
    for (let at = j * columns; at + 1 < (j + 1) * columns; at++) {
      const [sw, se, nw, ne] = [values[at] ?? 0, values[at + 1] ?? 0, values[at + columns] ?? 0, values[at + columns + 1] ?? 0]
      const [least, most] = [Math.min(sw, se, nw, ne), Math.max(sw, se, nw, ne)]
      for (let n = 0; n < levels.length; n++) {
        const level = levels[n] ?? 0
        if (least >= level) continue
        if (most < level) break
        if (keep && !(keep[at] && keep[at + 1] && keep[at + columns] && keep[at + columns + 1])) break
        const over = (sw >= level ? 1 : 0) + (se >= level ? 2 : 0) + (ne >= level ? 4 : 0) + (nw >= level ? 8 : 0)
        for (const join of JOINS[over] ?? [])
          for (const which of join) side(found[n] ?? [], lattice, at - j * columns, j, which, level, sw, se, ne, nw)
      }
    }
  return found.map((pieces) => Float64Array.from(pieces))
}

/** Add where the level crosses one side of a cell: 0 south, 1 east, 2 north, 3 west. */
function side(
  found: number[], lattice: Lattice, i: number, j: number, which: number, level: number, sw: number, se: number, ne: number, nw: number,
): void {
  const [a, b] = which === 0 ? [sw, se] : which === 1 ? [se, ne] : which === 2 ? [nw, ne] : [sw, nw]
  const t = a === b ? 0.5 : (level - a) / (b - a)
  const x = which === 1 ? 1 : which === 3 ? 0 : t
  const y = which === 2 ? 1 : which === 0 ? 0 : t
  found.push(lattice.west_m + (i + x) * lattice.step_m, lattice.south_m + (j + y) * lattice.step_m)
}

/** Join pieces end to end into lines; a closed line ends where it begins. */
export function joined(pieces: Float64Array): Point[][] {
  const count = pieces.length / 4
  const ends = new Map<number, number[]>()
  const end = (k: number, far: boolean): Point => [pieces[4 * k + (far ? 2 : 0)] ?? 0, pieces[4 * k + (far ? 3 : 1)] ?? 0]
  for (let k = 0; k < count; k++)
    for (const far of [false, true]) {
      const key = keyOf(end(k, far))
      const there = ends.get(key)
      if (there) there.push(k)
      else ends.set(key, [k])
    }
  const used = new Uint8Array(count)
  const grow = (line: Point[]): void => {
    for (;;) {
      const tip = line.at(-1) ?? [0, 0]
      const next = ends.get(keyOf(tip))?.find((k) => !used[k])
      if (next === undefined) return
      used[next] = 1
      line.push(end(next, keyOf(end(next, false)) === keyOf(tip)))
    }
  }
  const lines: Point[][] = []
  for (let k = 0; k < count; k++) {
    if (used[k]) continue
    used[k] = 1
    const line = [end(k, false), end(k, true)]
    grow(line)
    line.reverse()
    grow(line)
    lines.push(line)
  }
  return lines
}

/** A key that is equal for ends within a tenth of a millimetre. */
function keyOf([east, north]: Point): number {
  return Math.round(east * 1e4) * 2 ** 26 + Math.round(north * 1e4)
}
