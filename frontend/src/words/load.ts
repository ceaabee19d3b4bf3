/** Where the words of a page come from: a script element in it, or the service. */
import { addWords, fetchWordsBy, known, type Language, languageOf, offerLanguages, type Table, useWords } from './catalogue'

interface Carried extends Language {
  readonly words: Table
}

type Offered = Language & { readonly address: string }

/** Words that a page carries within itself: it needs nothing else. */
export function useCarriedWords(wanted: readonly string[]): Language {
  const all = JSON.parse(document.getElementById('words')?.textContent || '[]') as Carried[]
  offerLanguages(all)
  const chosen = first(wanted, all)
  if (chosen) use(chosen, chosen.words)
  return chosen ?? { tag: 'en', name: 'English', locale: 'en-GB' }
}

/** What stands round every page. */
const SHELL = 'Shell'

/** Where the words of the chosen language are; null where the page carries all that there are. */
let served: string | null = null
const groups = new Map<string, Promise<void>>()
const arrived = new Set<string>()

/** Words that the service gives: the list of languages, then of the one that is wanted those round every page. */
export async function useServedWords(wanted: readonly string[]): Promise<Language> {
  const all = await fetched<Offered[]>('/app/words/languages.json')
  offerLanguages(all)
  const chosen = first(wanted, all)
  if (!chosen) throw new Error('no language')
  served = chosen.address
  use(chosen, {})
  await words(SHELL)
  fetchWordsBy(mayCome)
  return chosen
}

/** A page together with its words, the group of its name: which those are is found when the app is built. */
export async function withWords<Loaded>(group: string, page: Promise<Loaded>): Promise<Loaded> {
  await words(group)
  return page
}

/** Wait for the words of every message in an answer of the service: what is said once must not come too early. */
export async function wordsFor(answer: unknown): Promise<void> {
  if (!served || !answer) return
  const codes = [...JSON.stringify(answer).matchAll(/"code":"([^"]+)"/g)].map(([, code]) => code ?? '')
  await Promise.all([...new Set(codes.filter((code) => !known(code)).map(sortOf))].map((sort) => words(sort).catch(() => undefined)))
}

/** The first part of a code: words that no page names in its modules are fetched by it. */
function sortOf(code: string): string {
  return code.split('.')[0] ?? ''
}

function mayCome(code: string): boolean {
  const sort = sortOf(code)
  if (arrived.has(sort) || !/^\w+\./.test(code)) return false
  words(sort).catch(() => undefined)
  return true
}

/** Fetch a group of words once; again where it did not come. */
function words(group: string): Promise<void> {
  const before = groups.get(group)
  if (before || !served) return before ?? Promise.resolve()
  const coming = fetched<Table>(`${served}/${group}.json`).then(
    (table) => {
      arrived.add(group)
      addWords(table)
    },
    (error: unknown) => {
      groups.delete(group)
      throw error
    },
  )
  groups.set(group, coming)
  return coming
}

function first<One extends Language>(wanted: readonly string[], all: readonly One[]): One | undefined {
  const tag = wanted.map((one) => languageOf(one, all)?.tag).find((one) => one !== undefined)
  return all.find((one) => one.tag === tag) ?? all[0]
}

function use(language: Language, words: Table): void {
  document.documentElement.lang = language.tag
  useWords(language, words)
}

async function fetched<What>(address: string): Promise<What> {
  const answer = await fetch(address)
  if (!answer.ok) throw new Error(`${address}: ${answer.status}`)
  return (await answer.json()) as What
}
