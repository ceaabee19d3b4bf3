/** Every sentence the service can say, as its tests collect them from its source, in every language. */
import { readFileSync } from 'node:fs'

import { afterEach, beforeEach, describe, expect, it } from 'vitest'

import { told, useTold, useWords } from '.'
import { de, en } from './disk'
import { told as sentences } from './told'

const LIST = new URL('../../../tests/data/told_sentences.json', import.meta.url)
const collected = JSON.parse(readFileSync(LIST, 'utf8')) as string[]

/** Words of English that German has not, outside quotation marks and commands. */
const ENGLISH = /\b(the|of|and|is|are|with|not|from|by|must|there|this|has|holds|its|only|than|more|them|before|after|nobody|searcher|burial|run|split)\b/

const german = (english: string): string => (told(english) ?? '').replace(/\u00a0/g, ' ')
const numbers = (text: string): string[] => text.replace(/\bm2\b/g, 'm²').replace(/(\d)[,\u202f ](?=\d{3}\b)/g, '$1').replace(/(\d)\.(?=\d)/g, '$1,').match(/\d+(,\d+)?/g)?.sort() ?? []

describe('sentences of the service', () => {
  beforeEach(() => {
    useWords(de, de.words)
    useTold(sentences)
  })
  afterEach(() => {
    useWords(en, en.words)
    useTold([])
  })

  it('are all told in German', () => {
    expect(collected.filter((english) => told(english) === null)).toEqual([])
  })

  it('keep no English', () => {
    const mixed = collected.map(german).filter((text) => ENGLISH.test(text.replace(/^[\w.[\]]+: |„[^“]*“|coldfield \w+|--\w+|\w+\.json/g, '')))
    expect(mixed).toEqual([])
  })

  it('keep every number and every name', () => {
    for (const english of collected) {
      expect(numbers(german(english)), english).toEqual(numbers(english))
      for (const name of english.match(/Q[a-z]{3}\b/g) ?? []) expect(german(english), english).toContain(name)
    }
  })

  it('stand once', () => {
    const all = sentences.map(([english]) => english)
    expect(all.filter((english, i) => all.indexOf(english) !== i)).toEqual([])
  })

  it('keep the place in front of them', () => {
    expect(german('line 7: note: is longer than 200 letters')).toBe('Zeile 7: note: ist länger als 200 Zeichen')
  })
})
