import { expect, it } from 'vitest'

import type { Point } from '../../plan/point'
import { inside } from '../../plan/polyline'
import type { Site } from '../document'
import { apart, area_m2, crosses, groundArea_m2, onGround, redrawn, sideNear, simplified } from './rings'

const square: Point[] = [[0, 0], [60, 0], [60, 80], [0, 80]]
const site = (changes: Partial<Site> = {}): Site =>
  ({ boundary_m: square, holes_m: [], slope_deg: 0, ...changes }) as unknown as Site

it('measures ground on the snow, holes taken out', () => {
  expect(area_m2([...square].reverse())).toBe(4800)
  expect(groundArea_m2(site({ slope_deg: 60 }))).toBeCloseTo(9600)
  expect(groundArea_m2(site({ holes_m: [[[10, 10], [20, 10], [20, 20], [10, 20]]] }))).toBe(4700)
})

it('finds the side a new corner belongs to', () => {
  expect([[30, -2], [61, 40], [30, 85], [-9, 40]].map((place) => sideNear(square, place as Point))).toEqual([0, 1, 2, 3])
})

it('tells lines that cross', () => {
  expect(crosses(square)).toBe(false)
  expect(crosses([[0, 0], [60, 80], [60, 0], [0, 80]])).toBe(true)
  // While a ring is being drawn, the side that would close it does not count.
  const drawn: Point[] = [[0, 0], [60, 0], [30, 60], [20, 20]]
  expect(crosses(drawn, false)).toBe(false)
  expect(crosses([...drawn, [55, 20]], false)).toBe(true)
})

it('keeps the shape with fewer corners', () => {
  const walked = Array.from({ length: 240 }, (_, i): Point => {
    const [side, along] = [Math.floor(i / 60), i % 60]
    const wobble = Math.sin(i) * 0.2
    return [[along, wobble], [60 + wobble, along], [60 - along, 60 + wobble], [wobble, 60 - along]][side] as Point
  })
  const kept = simplified(walked, 1)
  expect(kept.length).toBeLessThan(12)
  expect(area_m2(kept)).toBeCloseTo(area_m2(walked), -2)
})

it('finds a place on a ground whose middle is a hole', () => {
  const hole: Point[] = [[20, 20], [40, 20], [40, 60], [20, 60]]
  const place = onGround(site({ holes_m: [hole] }))
  expect(inside(place, [square, hole])).toBe(true)
})

it('tells corners apart by their distance along the ring, the first always', () => {
  const ring: Point[] = [[0, 0], [1, 0], [5, 0], [5, 1], [5, 6]]
  expect([...apart(ring, 4)]).toEqual([0, 2, 4])
  expect([...apart(ring, 0.5)]).toEqual([0, 1, 2, 3, 4])
})

it('keeps what still fits a boundary drawn anew, and tells what does not', () => {
  const hole: Point[] = [[10, 10], [20, 10], [20, 20], [10, 20]]
  const far: Point[] = [[40, 60], [50, 60], [50, 70], [40, 70]]
  const before = { site: site({ holes_m: [hole, far], entry_m: [30, 0] }), burials: [{ id: 'A', position_m: [45, 75] }, { id: 'B', position_m: [30, 5] }] } as never
  const lower: Point[] = [[0, 0], [60, 0], [60, 65], [0, 65]]
  expect(redrawn(before, lower)).toEqual({ holes_m: [hole], entry_m: [30, 0], entryMoved_m: 0, holesLost: 1, outside: ['A'] })
  const away: Point[] = [[0, 5], [60, 5], [60, 80], [0, 80]]
  expect(redrawn(before, away)).toMatchObject({ holes_m: [hole, far], entry_m: [30, 5], entryMoved_m: 5, holesLost: 0 })
  // An excluded area that touches the new boundary from inside still fits.
  expect(redrawn(before, [[10, 0], [60, 0], [60, 80], [10, 80]]).holes_m).toEqual([hole, far])
})
