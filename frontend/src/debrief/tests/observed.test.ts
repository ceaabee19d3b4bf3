import { expect, it } from 'vitest'

import { de } from '../../words/de'
import { en } from '../../words/en'
import { told } from '../../words/told'
import { useWords } from '../../words'
import { observed } from '../observed'

it('tells a usual observation in the chosen language and leaves own words alone', () => {
  useWords('en', en)
  expect(observed('phones away (not seen): two of them')).toBe('phones put away (not seen): two of them')
  useWords('de', de, told)
  expect(observed('leader named')).toBe(de['seen.leader_named'])
  expect(observed('leader named (not seen)')).toContain(de['seen.leader_named'])
  expect(observed('leader named (not seen)')).not.toContain('not seen')
  expect(observed('leader')).toBe('leader')
})
