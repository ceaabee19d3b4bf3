import { expect, it } from 'vitest'

import { freeId, freeName, newSearcher } from './searchers'

it('gives everybody an id of their own that can be read', () => {
  expect(freeId('Yuki', [])).toBe('yuki')
  expect(freeId('Yuki', ['yuki', 'yuki-2'])).toBe('yuki-3')
  expect([freeId('Noël  Ää', []), freeId('山', []), freeId('!?', [])]).toEqual(['noel-aa', '山', 's'])
})

it('names those who have no name yet', () => {
  const one = newSearcher('Searcher 2', [])
  expect(freeName([one])).toBe('Searcher 3')
  expect(freeName([])).toBe('Searcher 1')
})
