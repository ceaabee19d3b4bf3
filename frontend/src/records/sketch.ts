/** A small picture of a drill's ground: metres east and north in a square of pixels, north up. */
import type { SchemaGroundSketch } from '../api/schema'

export interface Sketch {
  /** The path of the boundary with its holes. */
  outline: string
  entry: [number, number]
  burials: [number, number][]
}

const MARGIN = 4

export function sketch(ground: SchemaGroundSketch, side: number): Sketch {
  const east = ground.boundary_m.map(([x = 0]) => x)
  const north = ground.boundary_m.map(([, y = 0]) => y)
  const [west, south] = [Math.min(...east), Math.min(...north)]
  const [wide, high] = [Math.max(...east) - west, Math.max(...north) - south]
  const scale = (side - 2 * MARGIN) / Math.max(wide, high, 1)
  const round = (value: number): number => Math.round(value * 10) / 10
  const place = ([x = 0, y = 0]: readonly number[]): [number, number] => [
    round(side / 2 + (x - west - wide / 2) * scale),
    round(side / 2 - (y - south - high / 2) * scale),
  ]
  const ring = (points: readonly number[][]): string => `M${points.map((point) => place(point).join(' ')).join('L')}Z`
  return {
    outline: [ground.boundary_m, ...ground.holes_m].map(ring).join(''),
    entry: place(ground.entry_m),
    burials: ground.burials_m.map(place),
  }
}
