import { expect, it } from 'vitest'

import { wrapped } from './bands'

it('breaks words into lines that fit, and loses none', () => {
  expect(wrapped('walking speed in the signal search', 14)).toEqual(['walking speed', 'in the signal', 'search'])
  expect(wrapped('Schneedeckenuntersuchung heute', 10)).toEqual(['Schneedeckenuntersuchung', 'heute'])
  expect(wrapped('one', 1)).toEqual(['one'])
})
