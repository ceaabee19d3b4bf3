import { readFileSync } from 'node:fs'

import { expect, it } from 'vitest'

it('asks for the words of a page by the name of its file', () => {
  const text = readFileSync(new URL('pages.ts', import.meta.url), 'utf8')
  const loads = [...text.matchAll(/withWords\('(\w+)', import\('[./a-z]+\/(\w+)\.svelte'\)\)/g)]
  expect(loads.length).toBe(text.match(/import\(/g)?.length)
  for (const [, group, file] of loads) expect(group).toBe(file)
})
