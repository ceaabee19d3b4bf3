import { expect, it } from 'vitest'

import { fromPercent, setMiddle, setSpread, toPercent } from './skill'

it('says a spread as a percentage, there and back', () => {
  expect(toPercent(0.3)).toBe(35)
  for (const percent of [0, 10, 35, 100, 600]) expect(toPercent(fromPercent(percent))).toBe(percent)
})

it('keeps only what the group has of its own', () => {
  const own = setSpread(setMiddle({ like: 'novice' }, 'fine_speed_m_s', 0.12), 'fine_speed_m_s', 'between', 0.4)
  expect(own).toEqual({ like: 'novice', fine_speed_m_s: 0.12, spread: { fine_speed_m_s: { between: 0.4 } } })
  expect(setSpread(setMiddle(own, 'fine_speed_m_s', null), 'fine_speed_m_s', 'between', null)).toEqual({ like: 'novice' })
})
