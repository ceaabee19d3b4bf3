import { describe, expect, it } from 'vitest'

import { scaleFor, twoDigits } from './scale'

describe('scaleFor', () => {
  it('keeps all values inside and their order', () => {
    const scale = scaleFor([0.5, 1, 2])
    expect(scale.at(0.5)).toBeGreaterThan(0)
    expect(scale.at(2)).toBeLessThan(1)
    expect(scale.at(1)).toBeCloseTo(0.5, 6)
  })
  it('stands with one value and with none', () => {
    expect(scaleFor([3]).at(3)).toBeCloseTo(0.5, 6)
    expect(Number.isFinite(scaleFor([]).at(1))).toBe(true)
  })
})

describe('twoDigits', () => {
  it('says no more than is known', () => {
    expect(twoDigits(1.1349)).toBe(1.1)
    expect(twoDigits(0.15)).toBe(0.15)
  })
})
