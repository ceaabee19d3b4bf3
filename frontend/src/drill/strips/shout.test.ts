import { expect, it } from 'vitest'

import { newBurial, rodWords } from '../hidden/burials'
import { fromEntry, shout, wayWords } from './shout'

it('says which way lanes run: the fall line, the contour, else the wind', () => {
  const south = { slope_deg: 20, aspect_deg: 180 }
  expect([0, 180, 10, 350].map((heading) => wayWords(heading, south))).toEqual(Array(4).fill('up and down the fall line'))
  expect([90, 270, 80].map((heading) => wayWords(heading, south))).toEqual(Array(3).fill('across the slope, along the contour'))
  expect(wayWords(45, south)).toBe('towards north-east and back')
  expect(wayWords(0, { slope_deg: 2, aspect_deg: 180 })).toBe('towards north and back')
})

it('says lanes as they are shouted, and starts as they are found from the entry', () => {
  const plan = { heading_deg: 0, sharing: 'line abreast', strip_width_m: 46.2, lanes: [1, 2, 3] }
  expect(shout(plan, { slope_deg: 20, aspect_deg: 180 } as never)).toBe('3 abreast, 46\u00a0m apart, up and down the fall line.')
  expect([[0, 0.4], [-20, 20], [30, 0]].map((start) => fromEntry(start as [number, number], [0, 0]))).toEqual(['at the entry', '28\u00a0m north-west of the entry', '30\u00a0m east of the entry'])
})

it('draws depth and direction of a new burial, within what is dug', () => {
  let seed = 7
  const draw = (): number => (seed = (seed * 16807) % 2147483647) / 2147483647
  const made = Array.from({ length: 200 }, () => newBurial([1, 2], { burials: [] } as never, [], draw))
  expect(new Set(made.map(({ depth_m }) => depth_m)).size).toBeGreaterThan(5)
  expect(new Set(made.map(({ antenna }) => antenna?.azimuth_deg)).size).toBeGreaterThan(30)
  const depths = made.map(({ depth_m }) => depth_m).sort((a, b) => a - b)
  expect(depths[100]).toBeCloseTo(0.8, 0)
  expect([depths[0] ?? 0, depths.at(-1) ?? 9].map((depth) => depth >= 0.4 && depth <= 1.8)).toEqual([true, true])
  expect(made.every(({ antenna }) => Math.abs(antenna?.tilt_deg ?? 99) <= 90)).toBe(true)
})

it('says where an antenna points', () => {
  expect(rodWords({ azimuth_deg: 202, tilt_deg: 20 })).toBe('Antenna towards south-south-west, 20° up.')
  expect(rodWords({ azimuth_deg: 358, tilt_deg: -5 })).toBe('Antenna towards north, 5° down.')
  expect(rodWords({ azimuth_deg: 90, tilt_deg: 0 })).toBe('Antenna level, towards east.')
})
