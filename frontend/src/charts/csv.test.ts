import { readFileSync } from 'node:fs'

import { expect, it } from 'vitest'

import { csvOf, guarded } from './csv'

const cells = JSON.parse(readFileSync(new URL('../../../tests/data/guarded_cells.json', import.meta.url), 'utf8')) as [string, string][]

it.each(cells)('guards %j as the service does', (text, written) => {
  expect(guarded(text)).toBe(written)
})

it('writes numbers plain, nothing as empty, and quotes what needs it', () => {
  expect(csvOf({ head: ['name', 'a, b'], rows: [['=1', -4.5], ['say "so"', null], ['', Number.NaN]] })).toBe('name,"a, b"\n\'=1,-4.5\n"say ""so""",\n,\n')
})
