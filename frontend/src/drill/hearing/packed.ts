/** The hearing map as the service packs it: a header, then compact arrays for each set (docs/hearing.md). */
import type { Point } from '../../plan/point'

/** The places of a map; rows from south to north, columns from west to east. */
export interface Lattice {
  columns: number
  rows: number
  west_m: number
  south_m: number
  step_m: number
}

/** What the receiver hears of one set: hundredths of a metre, hundredths of a dB, steps of a half turn. */
export interface SetHeard {
  id: string
  reading: Uint16Array
  margin: Int16Array
  direction: Uint8Array
  heardBy: Uint8Array
}

export interface HearingMap {
  lattice: Lattice
  /** The searcher with the receiver. */
  searcher: string
  /** The number of searchers. */
  searchers: number
  height_m: number | null
  /** Whether the receiver shows a line; with one antenna there is none. */
  lines: boolean
  /** Whether the map is coarse because the service has not compiled its loops yet. */
  plain: boolean
  sets: readonly SetHeard[]
}

/** What is heard of one set at one place. */
export interface Here {
  id: string
  heard: boolean
  reading_m: number
  /** Azimuth of the line, from 0 to below 180; null: no direction. */
  line_deg: number | null
  /** Whether the receiver shows lines at all. */
  lines: boolean
  heardBy: number
}

export const NO_DIRECTION = 255
const MAGIC = 0x314d4843 // CHM1, little-endian

interface Header extends Lattice {
  burials: string[]
  searcher: string
  searchers: number
  height_m: number | null
  reading_step_m: number
  margin_step_db: number
  direction_steps: number
  lines: boolean
  plain?: boolean
}

/** Read a packed map; its arrays stay views of the buffer. */
export function unpack(buffer: ArrayBuffer): HearingMap {
  const view = new DataView(buffer)
  if (buffer.byteLength < 8 || view.getUint32(0, true) !== MAGIC) throw new Error('not a hearing map')
  const start = 8 + view.getUint32(4, true)
  const header = JSON.parse(new TextDecoder().decode(new Uint8Array(buffer, 8, start - 8))) as Header
  const { columns, rows, west_m, south_m, step_m } = header
  const n = columns * rows
  if (buffer.byteLength !== start + 6 * n * header.burials.length) throw new Error('the hearing map is not whole')
  const sets = header.burials.map((id, k) => {
    const at = start + 6 * n * k
    return {
      id,
      reading: new Uint16Array(buffer, at, n),
      margin: new Int16Array(buffer, at + 2 * n, n),
      direction: new Uint8Array(buffer, at + 4 * n, n),
      heardBy: new Uint8Array(buffer, at + 5 * n, n),
    }
  })
  const { searcher, searchers, height_m, lines, plain = false } = header
  return { lattice: { columns, rows, west_m, south_m, step_m }, searcher, searchers, height_m, lines, plain, sets }
}

/** What is heard of a set at any place within the map; null outside it. */
export function heardAt(map: HearingMap, set: SetHeard, [east, north]: Point): Here | null {
  const { columns, rows, west_m, south_m, step_m } = map.lattice
  const [x, y] = [(east - west_m) / step_m, (north - south_m) / step_m]
  if (!(x >= 0 && y >= 0 && x <= columns - 1 && y <= rows - 1)) return null
  const [i, j] = [Math.min(Math.floor(x), columns - 2), Math.min(Math.floor(y), rows - 2)]
  const [u, v] = [x - i, y - j]
  const corners = [j * columns + i, j * columns + i + 1, (j + 1) * columns + i, (j + 1) * columns + i + 1]
  const weights = [(1 - u) * (1 - v), u * (1 - v), (1 - u) * v, u * v]
  const between = (values: ArrayLike<number>): number => corners.reduce((sum, at, k) => sum + (values[at] ?? 0) * (weights[k] ?? 0), 0)
  const nearest = corners[weights.indexOf(Math.max(...weights))] ?? 0
  return {
    id: set.id,
    heard: between(set.margin) >= 0,
    reading_m: between(set.reading) / 100,
    line_deg: lineBetween(set.direction, corners, weights, nearest),
    lines: map.lines,
    heardBy: set.heardBy[nearest] ?? 0,
  }
}

/** The mean of lines without orientation, from their doubled angles. */
function lineBetween(steps: Uint8Array, corners: number[], weights: number[], nearest: number): number | null {
  if (steps[nearest] === NO_DIRECTION) return null
  let [cos, sin] = [0, 0]
  corners.forEach((at, k) => {
    const step = steps[at] ?? NO_DIRECTION
    if (step === NO_DIRECTION) return
    const doubled = (step / 240) * 2 * Math.PI
    cos += Math.cos(doubled) * (weights[k] ?? 0)
    sin += Math.sin(doubled) * (weights[k] ?? 0)
  })
  const half = (Math.atan2(sin, cos) / 2) * (180 / Math.PI)
  return half < 0 ? half + 180 : half
}
