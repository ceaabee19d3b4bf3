import { describe, expect, it } from 'vitest'

import type { Point, Swept } from '../../debrief/document'
import { beside, overlap, placeLabels } from '../labels'
import { boxOf, chords, inside, keptPoints, pathOf, toSegment_m } from '../polyline'
import { cellsOf, sweptAt, sweptRings } from '../../debrief/swept'
import { centred, fit, pan, roundStep, ticks, toPixel, toPlace, transformOf, zoom } from '../view'

const square: Point[] = [[0, 0], [10, 0], [10, 10], [0, 10]]

function area(ring: readonly Point[]): number {
  return ring.reduce((sum, [x, y], i) => {
    const [u, v] = ring[(i + 1) % ring.length] ?? [0, 0]
    return sum + (x * v - u * y) / 2
  }, 0)
}

describe('lines', () => {
  it('keeps a simplified line within its tolerance', () => {
    const line = Array.from({ length: 400 }, (_, i): Point => [i / 10, Math.sin(i / 20) * 5])
    const kept = keptPoints(line, 0.1)
    expect(kept.length).toBeLessThan(80)
    line.forEach((place, i) => {
      const after = kept.findIndex((k) => k >= i)
      const [a, b] = [line[kept[Math.max(0, after - 1)] ?? 0], line[kept[after] ?? 0]]
      expect(toSegment_m(place, a ?? place, b ?? place)).toBeLessThanOrEqual(0.1 + 1e-9)
    })
  })

  it('tells inside from outside, holes counted out', () => {
    const hole: Point[] = [[4, 4], [6, 4], [6, 6], [4, 6]]
    expect(inside([1, 1], [square, hole])).toBe(true)
    expect(inside([5, 5], [square, hole])).toBe(false)
    expect(inside([11, 5], [square])).toBe(false)
  })

  it('cuts a straight line to the ground', () => {
    expect(chords(square, [0, 4], [1, 0])).toEqual([[[0, 4], [10, 4]]])
    expect(chords(square, [0, 40], [1, 0])).toEqual([])
  })

  it('writes paths and boxes', () => {
    expect(pathOf([[[0, 0], [1.234, 5.678]], [[9, 9]]])).toBe('M0 0L1.23 5.68')
    expect(boxOf(square)).toEqual({ west: 0, south: 0, east: 10, north: 10 })
  })
})

describe('swept ground', () => {
  const swept: Swept = { cell_m: 2, origin_m: [10, 20], columns: 4, rows: 3, runs: [5, 2, 2, 2, 1] }

  it('unrolls run lengths row by row from the south-west', () => {
    expect([...cellsOf(swept)]).toEqual([0, 0, 0, 0, 0, 1, 1, 0, 0, 1, 1, 0])
    expect(sweptAt(swept, cellsOf(swept), [13, 23])).toBe(true)
    expect(sweptAt(swept, cellsOf(swept), [11, 23])).toBe(false)
    expect(sweptAt(swept, cellsOf(swept), [9, 23])).toBeNull()
  })

  it('rings it with corners cut: the area is that of the cells less four half-squares', () => {
    const rings = sweptRings(swept, cellsOf(swept))
    expect(rings).toHaveLength(1)
    // 4 cells of 4 m2; at each of 4 corners a triangle with legs of half a cell, 1 m, is cut.
    expect(area(rings[0] ?? [])).toBeCloseTo(16 - 4 * 0.5)
  })

  it('rings a hole on its own', () => {
    const ring: Swept = { cell_m: 1, origin_m: [0, 0], columns: 3, rows: 3, runs: [0, 4, 1, 4] }
    const areas = sweptRings(ring, cellsOf(ring)).map((r) => Math.abs(area(r)))
    // Outside: 9 m2 less four corners of 1/8. The hole of one cell becomes the square on the midpoints of its edges.
    expect(areas.sort()).toEqual([expect.closeTo(0.5), expect.closeTo(8.5)])
  })
})

describe('the view', () => {
  const size = { width: 400, height: 300 }
  const box = boxOf(square)

  it('shows the whole box and turns pixels back into places', () => {
    const view = fit(box, size, { left: 20, right: 20, top: 20, bottom: 20 })
    expect(toPixel(view, size, [0, 0])[1] - toPixel(view, size, [0, 10])[1]).toBeCloseTo(260)
    expect(toPlace(view, size, toPixel(view, size, [3, 7]))).toEqual([expect.closeTo(3), expect.closeTo(7)])
    expect(transformOf(view, size)).toContain('scale(26 -26)')
  })

  it('puts a place in the middle of what the margins leave', () => {
    const margin = { left: 100, right: 0, top: 0, bottom: 60 }
    expect(toPixel(centred([3, 7], 5, margin), size, [3, 7])).toEqual([expect.closeTo(250), expect.closeTo(120)])
  })

  it('zooms about a pixel and pans by pixels', () => {
    const view = fit(box, size, { left: 20, right: 20, top: 20, bottom: 20 })
    const near = zoom(view, size, [100, 80], 3, view.scale)
    const [before, after] = [toPlace(view, size, [100, 80]), toPlace(near, size, [100, 80])]
    expect(after).toEqual([expect.closeTo(before[0]), expect.closeTo(before[1])])
    expect(zoom(view, size, [0, 0], 0.1, view.scale).scale).toBe(view.scale)
    expect(toPixel(pan(near, 7, -9), size, before)).toEqual([expect.closeTo(107), expect.closeTo(71)])
  })

  it('steps by 1, 2 or 5', () => {
    expect([roundStep(1, 90), roundStep(10, 90), roundStep(8, 90), roundStep(30, 9)]).toEqual([100, 10, 20, 0.5])
    expect(ticks(-3, 11, 5)).toEqual([0, 5, 10])
  })
})

describe('labels', () => {
  const bounds = { x: 0, y: 0, width: 200, height: 200 }
  const label = (key: string, must: boolean, at: Point = [50, 50]) => {
    return { key, must, width: 30, height: 10, tries: beside(at, 30, 10) }
  }

  it('keep apart, and those that need not be there give way', () => {
    const placed = placeLabels(Array.from({ length: 12 }, (_, i) => label(String(i), i === 11)), [], bounds)
    expect(placed.length).toBeLessThan(12)
    const free = placed.filter(({ key }) => key !== '11')
    free.forEach((a, i) => free.slice(i + 1).forEach((b) => expect(overlap(a, b)).toBe(false)))
    expect(placed.at(-1)?.key).toBe('11')
  })

  it('stay on the sheet', () => {
    expect(placeLabels([label('a', true, [195, 4])], [], bounds)[0]).toMatchObject({ x: 156, y: 13 })
    expect(placeLabels([label('a', false)], [bounds], bounds)).toEqual([])
  })
})
