import { expect, it } from 'vitest'

import { useWords } from '../../words'
import { de } from '../../words/disk'
import { decimal, readNumber } from './numbers'

it('reads numbers as people type them', () => {
  expect(['1,2', ' 0.8 ', '.5', '-3', '−3', '7.'].map(readNumber)).toEqual([1.2, 0.8, 0.5, -3, -3, 7])
  expect(['', 'a', '1,2,3', '1e3', '--1'].map(readNumber)).toEqual([null, null, null, null, null])
})

it('writes them back in the reader’s language, no longer than they are', () => {
  expect([decimal(1.25, 1), decimal(2, 2), decimal(1234.5, 1), decimal(-0.04, 1)]).toEqual(['1.3', '2', '1234.5', '0'])
  useWords(de, de.words)
  expect([decimal(0.8, 2), readNumber(decimal(-0.8, 2))]).toEqual(['0,8', -0.8])
})
