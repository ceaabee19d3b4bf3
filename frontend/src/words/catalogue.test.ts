import { afterEach, expect, it } from 'vitest'

import { say, told, useTold, useWords } from '.'
import { de, en } from './disk'
import { told as sentences } from './told'

const placeholders = (entry: unknown): string[] => [...new Set(JSON.stringify(entry).match(/\{\w+\}/g))].sort()

afterEach(() => {
  useWords(en, en.words)
  useTold([])
})

it('tells what the service says in the chosen language, values and all', () => {
  for (const [english, german] of sentences) expect(placeholders(german), english).toEqual(placeholders(english))
  useWords(de, de.words)
  useTold([['at least {n} people (not {m})', 'mindestens {n} Personen (nicht {m})']])
  expect(told('at least 3 people (not 2)')).toBe('mindestens 3 Personen (nicht 2)')
  expect(told('something new')).toBeNull()
  useTold([['north', 'Norden'], ['south', 'Süden'], ['steep to the {winds}', 'steil gegen {winds}']])
  expect(told('steep to the north, south')).toBe('steil gegen Norden, Süden')
  expect(say('undo.undoWhat', { what: 'x' })).toBe('Rückgängig: x')
})
