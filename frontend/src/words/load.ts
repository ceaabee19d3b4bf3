/** Where the words of a page come from: a script element in it, or the service. */
import { type Language, languageOf, offerLanguages, type Table, useWords } from './catalogue'

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

/** Words that the service gives: the list of languages, then those of the one that is wanted. */
export async function useServedWords(wanted: readonly string[]): Promise<Language> {
  const all = await fetched<Offered[]>('/app/words/languages.json')
  offerLanguages(all)
  const chosen = first(wanted, all)
  if (!chosen) throw new Error('no language')
  use(chosen, await fetched<Table>(chosen.address))
  return chosen
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
