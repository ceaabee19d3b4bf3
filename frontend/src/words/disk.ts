/** For unit tests: the catalogues of the package. */
import { readdirSync, readFileSync } from 'node:fs'

import type { Language, Table } from '.'

const folder = new URL('../../../src/coldfield/words/', import.meta.url)
const files: Record<string, unknown> = Object.fromEntries(
  readdirSync(folder, { encoding: 'utf8', recursive: true })
    .filter((path) => path.endsWith('.json'))
    .map((path) => [path, JSON.parse(readFileSync(new URL(path, folder), 'utf8'))]),
)

/** Every language with its words. */
export const catalogues: Readonly<Record<string, Language & { words: Table }>> = read()

function read(): Record<string, Language & { words: Table }> {
  const found: Record<string, Language & { words: Table }> = {}
  for (const [path, content] of Object.entries(files)) {
    const [tag = '', name = ''] = path.split('/')
    const one = (found[tag] ??= { tag, name: '', locale: '', words: {} })
    if (name === 'language.json') Object.assign(one, content)
    else Object.assign(one.words, content)
  }
  return found
}

export const { en, de } = catalogues as { en: Language & { words: Table }; de: Language & { words: Table } }

/** The keys that a single-file page contains, by the parts it names. */
export function carried(page: string): ReadonlySet<string> {
  const html = readFileSync(new URL(`../../${page}`, import.meta.url), 'utf8')
  const parts = (/id="words" data-parts="([a-z_ ]+)"/.exec(html)?.[1] ?? '').split(' ')
  return new Set(parts.flatMap((part) => Object.keys(files[`en/${part}.json`] ?? {})))
}
