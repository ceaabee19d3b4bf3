/** What a person called something stays as it was called, in every language. */
import { afterEach, beforeEach, expect, it } from 'vitest'

import { told, useTold, useWords } from '.'
import { de, en } from './disk'
import { told as sentences } from './told'

beforeEach(() => {
  useWords(de, de.words)
  useTold(sentences)
})
afterEach(() => {
  useWords(en, en.words)
  useTold([])
})

const german = (english: string): string => (told(english) ?? '').replace(/\u00a0/g, ' ')

// A sentence comes as one text, so a name in it cannot be told from a figure or a term of ours. These hold
// once the service says a code and values instead; each fails until then, and says so once it does not.
it.fails('a burial called 2.1 is still called 2.1', () => {
  expect(german('12 m from set 2.1: beyond 200 m the model says nothing')).toContain('Gerät 2.1')
})

it.fails('a burial called likely is still called likely', () => {
  expect(german('12 m from set likely: beyond 200 m the model says nothing')).toContain('Gerät likely')
})

it.fails('a person called north is still called north', () => {
  expect(german('12 m from set north: beyond 200 m the model says nothing')).toContain('Gerät north')
})

it('a burial called A is called A, and a figure has its comma', () => {
  expect(german('2.5 m from set A: beyond 200 m the model says nothing')).toContain('2,5 m vom Gerät A')
})
