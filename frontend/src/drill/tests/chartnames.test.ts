import { describe, expect, it } from 'vitest'

import type { Point } from '../../plan/point'
import { placeNames } from '../chartnames'

const ROOM = { x: 50, y: 0, width: 300, height: 150 }
/** Two lines that start together at the top and diverge to the right. */
const MEAN: Point[] = [[50, 14], [200, 14], [350, 40]]
const WORST: Point[] = [[50, 14], [150, 16], [250, 60], [350, 148]]

describe('names of lines in a chart', () => {
  it('stand clear of both lines, of the mark and of each other', () => {
    const lines = [
      { name: 'average', points: MEAN, at: 260 },
      { name: 'worst place', points: WORST, at: 260 },
    ]
    for (const times of [1, 1.5]) {
      const placed = placeNames(lines, ROOM, 220, times)
      for (const { name, x, y } of placed) {
        const [top, bottom, right] = [y - 11 * times, y + 4 * times, x + name.length * 7.4 * times]
        expect(x > 220 || right < 220).toBe(true)
        for (const [px, py] of [...MEAN, ...WORST]) expect(px > x && px < right && py > top && py < bottom).toBe(false)
      }
      const [a, b] = placed
      expect(Math.abs((a?.y ?? 0) - (b?.y ?? 0)) >= 15 * times || Math.abs((a?.x ?? 0) - (b?.x ?? 0)) > 60).toBe(true)
    }
  })

  it('are left out where they find no room', () => {
    const long = { name: 'a name that is longer than the chart is wide', points: MEAN, at: 100 }
    expect(placeNames([long], { ...ROOM, width: 120 }, null)).toEqual([])
  })

  it('stays within the chart where a line runs along its top', () => {
    const [placed] = placeNames([{ name: 'all', points: [[50, 2], [350, 2]], at: 100 }], ROOM, null)
    expect(placed?.y).toBeGreaterThan(10)
  })
})
