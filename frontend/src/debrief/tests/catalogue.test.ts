import { readdirSync, readFileSync } from 'node:fs'

import { expect, it } from 'vitest'

import { en } from '../../words/en'

/** Families whose last part comes from the debrief itself: `phase.coarse`, `split.airway_clear` ... */
const FAMILIES = ['layer.', 'phase.', 'phase.long.', 'split.', 'now.', 'figure.', 'yardstick.']

function sources(folder: URL): string {
  return readdirSync(folder, { withFileTypes: true, recursive: true })
    .filter((entry) => entry.isFile() && /\.(svelte|ts)$/.test(entry.name) && !/(\.test|en)\.ts$/.test(entry.name))
    .map((entry) => readFileSync(`${entry.parentPath}/${entry.name}`, 'utf8'))
    .join('\n')
}

it('has no word that nothing says', () => {
  const text = sources(new URL('../../', import.meta.url))
  const unsaid = Object.keys(en).filter(
    (key) => !text.includes(`'${key}'`) && !FAMILIES.some((family) => key.startsWith(family) && text.includes('`' + family)),
  )
  expect(unsaid).toEqual([])
})
