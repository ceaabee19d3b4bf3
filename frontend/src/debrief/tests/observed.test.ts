import { expect, it } from 'vitest'

import { de, en } from '../../words/disk'
import { told } from '../../words/told'
import { useTold, useWords } from '../../words'
import { observed } from '../observed'

it('tells a usual observation in the chosen language and leaves own words alone', () => {
  useWords(en, en.words)
  expect(observed('phones away (not seen): two of them')).toBe('phones put away (not seen): two of them')
  useWords(de, de.words)
  useTold(told)
  expect(observed('leader named')).toBe(de.words['seen.leader_named'])
  expect(observed('leader named (not seen)')).toContain(de.words['seen.leader_named'])
  expect(observed('leader named (not seen)')).not.toContain('not seen')
  expect(observed('leader')).toBe('leader')
})
