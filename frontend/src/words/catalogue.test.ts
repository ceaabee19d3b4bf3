import { readdirSync, readFileSync } from 'node:fs'

import { afterEach, expect, it } from 'vitest'

import { say, told, useWords } from '.'
import { de } from './de'
import { en } from './en'
import { told as sentences } from './told'

/** Families whose last part comes from data: `phase.coarse`, `split.airway_clear`, `save.saved` ... */
const FAMILIES = ['layer.', 'plan.pan.', 'sharing.n.', 'phase.', 'phase.long.', 'split.', 'now.', 'figure.', 'yardstick.', 'save.', 'burial.outline.', 'site.setting.', 'grid.verdict.', 'group.skill.', 'group.travel.', 'strips.sharing.', 'rehearsal.stage.', 'run.job.stage.', 'job.waits.', 'drop.goes.', 'drop.to.', 'rehearsal.trace.', 'rehearsal.does.', 'checks.', 'setIs.', 'burialIs.', 'reached.', 'refused.', 'phone.', 'seen.', 'tick.', 'stage.', 'look.', 'splits.', 'here.', 'wind.', 'hide.way.']

function sources(folder: URL): string {
  return readdirSync(folder, { withFileTypes: true, recursive: true })
    .filter((entry) => entry.isFile() && /\.(svelte|ts)$/.test(entry.name) && !entry.name.endsWith('.test.ts'))
    .filter((entry) => !/words\/(en|de|told)$/.test(entry.parentPath))
    .map((entry) => readFileSync(`${entry.parentPath}/${entry.name}`, 'utf8'))
    .join('\n')
}

const placeholders = (entry: unknown): string[] => [...new Set(JSON.stringify(entry).match(/\{\w+\}/g))].sort()

afterEach(() => useWords('en', en))

it('has no word that nothing says', () => {
  const text = sources(new URL('../', import.meta.url))
  const unsaid = Object.keys(en).filter(
    (key) => !text.includes(`'${key}'`) && !FAMILIES.some((family) => key.startsWith(family) && text.includes('`' + family)),
  )
  expect(unsaid).toEqual([])
})

it('says everything in every language, with the same values filled in', () => {
  for (const [key, entry] of Object.entries(en)) {
    const other = de[key as keyof typeof de]
    expect(other, key).toBeTruthy()
    expect(placeholders(other), key).toEqual(placeholders(entry))
    expect(typeof other, key).toBe(typeof entry)
  }
  expect(Object.keys(de).sort()).toEqual(Object.keys(en).sort())
})

it('has no key in two parts of the catalogue', () => {
  for (const language of ['en', 'de']) {
    const folder = new URL(`./${language}/`, import.meta.url)
    const keys = readdirSync(folder)
      .map((file) => readFileSync(new URL(file, folder), 'utf8'))
      .flatMap((text) => [...text.matchAll(/^ {2}'([^']+)':/gm)].map(([, key]) => key))
    expect(keys.filter((key, i) => keys.indexOf(key) !== i)).toEqual([])
  }
})

it('tells what the service says in the chosen language, values and all', () => {
  for (const [english, german] of sentences) expect(placeholders(german), english).toEqual(placeholders(english))
  useWords('de', de, [['at least {n} people (not {m})', 'mindestens {n} Personen (nicht {m})']])
  expect(told('at least 3 people (not 2)')).toBe('mindestens 3 Personen (nicht 2)')
  expect(told('something new')).toBeNull()
  useWords('de', de, [['north', 'Norden'], ['south', 'Süden'], ['steep to the {winds}', 'steil gegen {winds}']])
  expect(told('steep to the north, south')).toBe('steil gegen Norden, Süden')
  expect(say('undo.undoWhat', { what: 'x' })).toBe('Rückgängig: x')
})
