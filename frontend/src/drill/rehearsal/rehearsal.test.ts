import { expect, it } from 'vitest'

import { unbroken } from '../../words/numbers'
import { complete } from '../document'
import { changedWords } from './changed'
import { about, aboutRange, difference, minuteOf, untilSettled, wider } from './minutes'
import { phaseAt, placeAt, walkedUntil } from './replay'

const TRACE = {
  searcher: 's1',
  t_s: [0, 10, 10, 20],
  east_m: [0, 10, 10, 10],
  north_m: [0, 0, 0, 20],
  phases: [
    { from_s: 0, phase: 'walk' },
    { from_s: 10, phase: 'signal' },
  ],
}

it('knows where somebody was between two corners, before the first and after the last', () => {
  expect(placeAt(TRACE, 5)).toEqual([5, 0])
  expect(placeAt(TRACE, 15)).toEqual([10, 10])
  expect(placeAt(TRACE, -3)).toEqual([0, 0])
  expect(placeAt(TRACE, 99)).toEqual([10, 20])
  expect(walkedUntil(TRACE, 15).at(-1)).toEqual([10, 10])
  expect(phaseAt(TRACE, 9.9)).toBe('walk')
  expect(phaseAt(TRACE, 10)).toBe('signal')
})

it('says times with no more digits than they have', () => {
  expect(about(347)).toBe(unbroken('6 min'))
  expect(about(388)).toBe(unbroken('6½ min'))
  expect(about(114)).toBe(unbroken('1 min 50 s'))
  expect(about(372)).toBe(unbroken('6 min'))
  expect(about(null)).toBe('not known')
  expect(aboutRange(388, 870)).toBe(unbroken('6½ to 14½ min'))
  expect(aboutRange(372, 838)).toBe(unbroken('6 to 14 min'))
  expect(aboutRange(55, 372)).toBe(unbroken('55 s to 6 min'))
  expect(difference(-0.5, 0.001)).toBe(unbroken('−30 ± 1 s'))
  expect(difference(2.44, 0.12)).toBe(unbroken('+2.4 ± 0.1 min'))
})

it('shows the wider of both bands, also where one end is later than a run is played', () => {
  const [narrow, wide] = [{ p10: 300, p50: 400, p90: 500 }, { p10: 200, p50: 400, p90: 800 }]
  const seconds = (band: typeof narrow): never => ({ ...band, mean: 400 }) as never
  expect(wider({ unsure: wide, seconds: seconds(narrow) })).toMatchObject(wide)
  expect(wider({ unsure: narrow, seconds: seconds(wide) })).toMatchObject(wide)
  const open = { p10: 400, p50: 900, p90: null }
  expect(wider({ unsure: wide, seconds: seconds(open as never) })).toMatchObject(open)
  expect(wider({ unsure: { ...open, p10: 300 }, seconds: seconds(open as never) })).toMatchObject({ p10: 300 })
})

it('finds the minute of a share, and ends a line where nothing more happens', () => {
  const free = [0, 0, 0.2, 0.6, 0.9, 0.9, 0.9, 0.9, 0.9, 0.9]
  expect(minuteOf(free, 0.5)).toBe(3)
  expect(minuteOf(free, 0.95)).toBeNull()
  expect(untilSettled(free).at(-1)).toEqual([6, 0.9])
})

it('names what was changed, and nothing else', () => {
  const before = complete({
    format: 'coldfield-drill/1',
    name: 'x',
    site: { origin: { latitude_deg: 61, longitude_deg: 8, elevation_m: 0 }, boundary_m: [[0, 0], [9, 0], [9, 9]], entry_m: [1, 1] },
    burials: [{ id: 'A', position_m: [2, 1], depth_m: 1, transmitter: null }],
    searchers: [{ id: 's1', name: 'Ines', receiver: { coaxial_range_m: 45 } }],
  } as never)
  const after = structuredClone(before)
  expect(changedWords(before, after)).toEqual([])
  for (const burial of after.burials) burial.depth_m = 2
  for (const searcher of after.searchers) searcher.shovel = false
  after.conditions.strip_width_m = 20
  expect(changedWords(before, after)).toEqual(['Burial A: depth', 'Ines: shovel', 'strip width'])
})
