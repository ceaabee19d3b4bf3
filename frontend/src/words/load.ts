/** Load the words of a page, from a script element in it or from the service. */
import { addWords, fetchWordsBy, known, type Language, languageOf, offerLanguages, type Table, useWords } from './catalogue'

interface Carried extends Language {
  readonly words: Table
}

type Offered = Language & { readonly address: string }

/** Use the words contained in the page. */
export function useCarriedWords(wanted: readonly string[]): Language {
  const all = JSON.parse(document.getElementById('words')?.textContent || '[]') as Carried[]
  offerLanguages(all)
  const chosen = first(wanted, all)
  if (chosen) use(chosen, chosen.words)
  return chosen ?? { tag: 'en', name: 'English', locale: 'en-GB' }
}

/** The group of words around every page. */
const SHELL = 'Shell'

/** The address of the words of the chosen language; null if the page contains all. */
let served: string | null = null
const groups = new Map<string, Promise<void>>()
const arrived = new Set<string>()

/** Use words from the service: load the list of languages, then the words around every page. */
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

/** A page together with its words, whose group has the page's name; the build of the app collects them. */
export async function withWords<Loaded>(group: string, page: Promise<Loaded>): Promise<Loaded> {
  await words(group)
  return page
}

/** Wait for the words of every message in an answer, for text that is shown only once. */
export async function wordsFor(answer: unknown): Promise<void> {
  if (!served || !answer) return
  const codes = [...JSON.stringify(answer).matchAll(/"code":"([^"]+)"/g)].map(([, code]) => code ?? '')
  await Promise.all([...new Set(codes.filter((code) => !known(code)).map(sortOf))].map((sort) => words(sort).catch(() => undefined)))
}

/** The first part of a code, by which words that are in no page's group are fetched. */
function sortOf(code: string): string {
  return code.split('.')[0] ?? ''
}

function mayCome(code: string): boolean {
  const sort = sortOf(code)
  if (arrived.has(sort) || !/^\w+\./.test(code)) return false
  words(sort).catch(() => undefined)
  return true
}

/** Fetch a group of words once; again if it failed. */
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
