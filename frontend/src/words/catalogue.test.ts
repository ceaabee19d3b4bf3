import { afterEach, expect, it } from 'vitest'

import { languageOf, say, sayMessage, useWords } from '.'
import { catalogues, de, en } from './disk'

afterEach(() => useWords(en, en.words))

it('says words in the chosen language and chooses the plural', () => {
  useWords(de, de.words)
  expect(say('undo.undoWhat', { what: 'x' })).toBe('Rückgängig: x')
  expect(say('page.people', { n: 1 })).toBe('1 Person')
  expect(say('page.people', { n: 3 })).toBe('3 Personen')
})

it('leaves names and ids alone in every language', () => {
  for (const language of Object.values(catalogues)) {
    useWords(language, language.words)
    for (const name of ['2.1', 'likely', 'north', '{n}', 'fault.missing']) {
      expect(sayMessage({ code: 'time.plusMinus', values: { time: name } }), language.tag).toBe(`± ${name}`)
      expect(sayMessage({ code: 'fault.missing', place: [name] }).startsWith(`${name}: `), language.tag).toBe(true)
    }
  }
})

it('finds the language of a tag', () => {
  const all = Object.values(catalogues)
  expect(languageOf('de-CH', all)?.tag).toBe('de')
  expect(languageOf('EN', all)?.tag).toBe('en')
  expect(languageOf('xx', all)).toBeNull()
})
