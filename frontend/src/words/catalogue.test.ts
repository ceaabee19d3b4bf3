import { readdirSync, readFileSync } from 'node:fs'

import { afterEach, expect, it } from 'vitest'

import { say, told, useTold, useWords } from '.'
import { de, en } from './disk'
import { told as sentences } from './told'

/** Families whose last part comes from data: `phase.coarse`, `split.airway_clear`, `save.saved` ... */
const FAMILIES = ['layer.', 'plan.pan.', 'sharing.n.', 'phase.', 'phase.long.', 'split.', 'now.', 'figure.', 'yardstick.', 'save.', 'burial.outline.', 'site.setting.', 'grid.verdict.', 'group.skill.', 'group.travel.', 'strips.sharing.', 'rehearsal.stage.', 'run.job.stage.', 'job.waits.', 'drop.goes.', 'drop.to.', 'rehearsal.trace.', 'rehearsal.does.', 'checks.', 'setIs.', 'burialIs.', 'reached.', 'refused.', 'phone.', 'seen.', 'tick.', 'stage.', 'look.', 'splits.', 'here.', 'wind.', 'hide.way.']

/** What the service says has its code in the service; `tests/words` looks for those. */
const SERVICE = /^(fault|note|finding|reason|warning|caution|term|place|picture|command|unit)\./
const uiKeys = (): string[] => Object.keys(en.words).filter((key) => !SERVICE.test(key))

function sources(folder: URL): string {
  return readdirSync(folder, { withFileTypes: true, recursive: true })
    .filter((entry) => entry.isFile() && /\.(svelte|ts)$/.test(entry.name) && !entry.name.endsWith('.test.ts'))
    .filter((entry) => !/words\/told$/.test(entry.parentPath))
    .map((entry) => readFileSync(`${entry.parentPath}/${entry.name}`, 'utf8'))
    .join('\n')
}

const placeholders = (entry: unknown): string[] => [...new Set(JSON.stringify(entry).match(/\{\w+\}/g))].sort()

afterEach(() => {
  useWords(en, en.words)
  useTold([])
})

it('has no word that nothing says', () => {
  const text = sources(new URL('../', import.meta.url))
  const unsaid = uiKeys().filter(
    (key) => !text.includes(`'${key}'`) && !FAMILIES.some((family) => key.startsWith(family) && text.includes('`' + family)),
  )
  expect(unsaid).toEqual([])
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
