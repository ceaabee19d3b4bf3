/** What a person called something stays as it was called, in every language. */
import { afterEach, beforeEach, expect, it } from 'vitest'

import { sayMessage, useWords } from '.'
import { de, en } from './disk'

beforeEach(() => useWords(de, de.words))
afterEach(() => useWords(en, en.words))

const far = (burial: string): string =>
  sayMessage({
    code: 'fault.too_far_from_set',
    values: { burial, distance: { kind: 'number', value: 2.5 }, most: { kind: 'number', value: 200, decimals: 0 } },
  })

it.each(['A', '2.1', 'likely', 'north', 'digging'])('a burial called %s is still called so', (burial) => {
  expect(far(burial)).toContain(`Gerät ${burial}:`)
})

it('a figure has its comma', () => {
  expect(far('A')).toContain('2,5 m vom Gerät')
})
