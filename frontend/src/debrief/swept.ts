/** Swept ground: from run lengths of cells to the outline of the swept part. */
import type { Point, Swept } from './document'

/** One value per cell, row by row from the south-west: 1 where swept. */
export function cellsOf(swept: Swept): Uint8Array {
  const cells = new Uint8Array(swept.columns * swept.rows)
  let index = 0
  let value = 0
  for (const run of swept.runs) {
    if (value) cells.fill(1, index, index + run)
    index += run
    value = 1 - value
  }
  return cells
}

/** Whether the cell under a place is swept; null outside the raster. */
export function sweptAt(swept: Swept, cells: Uint8Array, place: Point): boolean | null {
  const column = Math.floor((place[0] - swept.origin_m[0]) / swept.cell_m)
  const row = Math.floor((place[1] - swept.origin_m[1]) / swept.cell_m)
  if (column < 0 || row < 0 || column >= swept.columns || row >= swept.rows) return null
  return cells[row * swept.columns + column] === 1
}

/**
 * Rings around the swept cells, in metres; even-odd filling gives the swept ground.
 *
 * A ring runs through the midpoints of the cells' edges and cuts their corners, so it is within half a cell of the true outline.
 */
export function sweptRings(swept: Swept, cells: Uint8Array): Point[][] {
  const { columns, rows } = swept
  const filled = (c: number, r: number): boolean =>
    c >= 0 && r >= 0 && c < columns && r < rows && cells[r * columns + c] === 1
  const width = columns + 1
  const next = new Map<number, number[]>()
  const edge = (c0: number, r0: number, c1: number, r1: number): void => {
    const from = r0 * width + c0
    next.set(from, [...(next.get(from) ?? []), r1 * width + c1])
  }
  for (let r = 0; r < rows; r++) {
    for (let c = 0; c < columns; c++) {
      if (!filled(c, r)) continue
      if (!filled(c, r - 1)) edge(c, r, c + 1, r)
      if (!filled(c + 1, r)) edge(c + 1, r, c + 1, r + 1)
      if (!filled(c, r + 1)) edge(c + 1, r + 1, c, r + 1)
      if (!filled(c - 1, r)) edge(c, r + 1, c, r)
    }
  }
  const rings: Point[][] = []
  for (const start of [...next.keys()]) {
    for (let ring = walk(next, start); ring.length > 2; ring = walk(next, start)) {
      rings.push(cutCorners(ring, width).map(([c, r]) => metres(swept, c, r)))
    }
  }
  return rings
}

function walk(next: Map<number, number[]>, start: number): number[] {
  const ring: number[] = []
  for (let corner: number | undefined = start; corner !== undefined; ) {
    const onward: number | undefined = next.get(corner)?.pop()
    if (onward === undefined) break
    ring.push(corner)
    if (onward === start) return ring
    corner = onward
  }
  return ring
}

function cutCorners(ring: number[], width: number): Point[] {
  const corners = ring.map((k): Point => [k % width, Math.floor(k / width)])
  const middles = corners.map((a, i): Point => {
    const b = corners[(i + 1) % corners.length] ?? a
    return [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2]
  })
  return middles.filter((p, i) => {
    const before = middles[(i + middles.length - 1) % middles.length] ?? p
    const after = middles[(i + 1) % middles.length] ?? p
    return (p[0] - before[0]) * (after[1] - p[1]) !== (p[1] - before[1]) * (after[0] - p[0])
  })
}

const metres = (swept: Swept, c: number, r: number): Point => [
  swept.origin_m[0] + c * swept.cell_m,
  swept.origin_m[1] + r * swept.cell_m,
]
