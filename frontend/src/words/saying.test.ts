/** Messages have the same text as in the service: one table of examples tests both. */
import { existsSync, readFileSync } from 'node:fs'

import { afterEach, expect, it } from 'vitest'

import { type Message, sayMessage, useWords } from '.'
import { catalogues, en } from './disk'

const TABLE = new URL('../../../tests/data/said.json', import.meta.url)

interface Example {
  readonly message: Message
  readonly said: Readonly<Record<string, string>>
}

afterEach(() => useWords(en, en.words))

it('says each example as the service does, in every language', () => {
  const examples = JSON.parse(readFileSync(TABLE, 'utf8')) as Example[]
  expect(existsSync(TABLE) && examples.length).toBeGreaterThan(20)
  for (const [tag, language] of Object.entries(catalogues)) {
    useWords(language, language.words)
    for (const { message, said } of examples) expect(sayMessage(message).replaceAll('\u00a0', ' '), JSON.stringify(message)).toBe(said[tag])
  }
})
