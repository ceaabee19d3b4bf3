import { expect, it } from 'vitest'

import { headingOf, WAYS, wayOf } from './heading'

it('finds the way again that a heading stands for, on any slope', () => {
  for (const aspect_deg of [0, 7, 90, 135, 200, 359.7])
    for (const way of WAYS) expect(wayOf(headingOf(way, aspect_deg, aspect_deg + 33), { slope_deg: 9, aspect_deg })).toBe(way)
})

it('counts both ways of a lane as one heading', () => {
  expect(headingOf('fall', 200, 0)).toBe(20)
  expect(headingOf('contour', 100, 0)).toBe(10)
  expect(headingOf('own', 0, -30)).toBe(150)
  expect(headingOf('free', 10, 10)).toBeNull()
})

it('knows no fall line on level ground', () => {
  expect(wayOf(0, { slope_deg: 0, aspect_deg: 0 })).toBe('own')
})
