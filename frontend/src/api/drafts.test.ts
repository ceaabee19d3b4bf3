import { beforeEach, expect, it } from 'vitest'

import { keepDraft, readDraft, takeOutOfDrafts } from './drafts'

const kept = new Map<string, string>()
beforeEach(() => {
  kept.clear()
  const store = new Proxy(
    {
      getItem: (key: string) => kept.get(key) ?? null,
      setItem: (key: string, value: string) => void kept.set(key, value),
      removeItem: (key: string) => void kept.delete(key),
    },
    {
      ownKeys: () => [...kept.keys()],
      getOwnPropertyDescriptor: () => ({ enumerable: true, configurable: true }),
    },
  )
  Object.defineProperty(globalThis, 'localStorage', { value: store, configurable: true })
})

it('takes a forgotten name out of every draft, however it is spelt, and nothing else', () => {
  keepDraft('runs', 'r-1', { form: { notes: 'RÚNA  fálk led', searchers: [{ searcher: 'Ru\u0301na Fa\u0301lk' }] }, version: 3 })
  keepDraft('runs', 'r-2', { form: { notes: 'Rúna Fálkberg led' }, version: 1 })
  const untouched = kept.get('coldfield.draft.runs.r-2')
  takeOutOfDrafts('Rúna Fálk', '(forgotten person)')
  expect(readDraft('runs', 'r-1')).toMatchObject({
    form: { notes: '(forgotten person) led', searchers: [{ searcher: '(forgotten person)' }] },
    version: 3,
  })
  expect(kept.get('coldfield.draft.runs.r-2')).toBe(untouched)
})
