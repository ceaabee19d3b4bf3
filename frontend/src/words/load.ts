/** Where the words of a page come from: a script element in it, or the service. */
import { type Language, languageOf, offerLanguages, type Table, useWords } from './catalogue'
import { useTold } from './english'
import type { Told } from './told'

interface Carried extends Language {
  readonly words: Table
}

type Offered = Language & { readonly address: string }

const none = async (): Promise<Told> => Promise.resolve([])

/** Words that a page carries within itself: it needs nothing else. */
export async function useCarriedWords(wanted: readonly string[], told: () => Promise<Told> = none): Promise<Language> {
  const all = JSON.parse(document.getElementById('words')?.textContent || '[]') as Carried[]
  offerLanguages(all)
  const chosen = first(wanted, all)
  if (chosen) await use(chosen, chosen.words, told)
  return chosen ?? { tag: 'en', name: 'English', locale: 'en-GB' }
}

/** Words that the service gives: the list of languages, then those of the one that is wanted. */
export async function useServedWords(wanted: readonly string[], told: () => Promise<Told> = none): Promise<Language> {
  const all = await fetched<Offered[]>('/app/words/languages.json')
  offerLanguages(all)
  const chosen = first(wanted, all)
  if (!chosen) throw new Error('no language')
  await use(chosen, await fetched<Table>(chosen.address), told)
  return chosen
}

function first<One extends Language>(wanted: readonly string[], all: readonly One[]): One | undefined {
  const tag = wanted.map((one) => languageOf(one, all)?.tag).find((one) => one !== undefined)
  return all.find((one) => one.tag === tag) ?? all[0]
}

async function use(language: Language, words: Table, told: () => Promise<Told>): Promise<void> {
  document.documentElement.lang = language.tag
  useWords(language, words)
  // Sentences that still come in English have their German here until each is a message.
  useTold(language.tag === 'de' ? await told() : [])
}

async function fetched<What>(address: string): Promise<What> {
  const answer = await fetch(address)
  if (!answer.ok) throw new Error(`${address}: ${answer.status}`)
  return (await answer.json()) as What
}
