/** The words of the chosen language, and how one of them is said. */
import { createSubscriber } from 'svelte/reactivity'

import type { Key } from './keys'
import { numberFormat, pluralRules, unbroken } from './numbers'

export type Entry = string | Readonly<Record<string, string>>
export type Table = Readonly<Record<string, Entry>>

/** A language that there is a catalogue of: what it calls itself, and whose numbers, dates and plurals it uses. */
export interface Language {
  readonly tag: string
  readonly name: string
  readonly locale: string
}

let language: Language = { tag: 'en', name: 'English', locale: 'en-GB' }
let table: Table = {}
let offered: readonly Language[] = [language]

/** Fetches the words of a code that is not here, and tells whether they may come; null where a page carries all. */
let fetchFor: ((code: string) => boolean) | null = null
const waiting = new Set<() => void>()
const whenMore = createSubscriber((update) => {
  waiting.add(update)
  return () => waiting.delete(update)
})

/** Say everything from now on in this language. */
export function useWords(wanted: Language, words: Table): void {
  language = wanted
  table = words
}

/** Add words of the chosen language; what was waiting for them is said. */
export function addWords(words: Table): void {
  table = { ...table, ...words }
  for (const update of [...waiting]) update()
}

/** Fetch by this the words of a code that is not here; it tells whether they may still come. */
export function fetchWordsBy(fetching: typeof fetchFor): void {
  fetchFor = fetching
}

/** Every language that can be chosen here. */
export function languages(): readonly Language[] {
  return offered
}

export function offerLanguages(all: readonly Language[]): void {
  offered = all
}

export function currentLanguage(): string {
  return language.tag
}

/** Whose numbers and dates are written. */
export function currentLocale(): string {
  return language.locale
}

/** Return the language of a tag such as 'de-CH', if there is a catalogue for it. */
export function languageOf(tag: string, among: readonly Language[] = offered): Language | null {
  const name = tag.toLowerCase()
  return among.find((one) => one.tag.toLowerCase() === name) ?? among.find((one) => one.tag === name.split('-')[0]) ?? null
}

/** Say something in the chosen language, with values filled in for `{name}`. */
export function say(key: Key, values: Record<string, string | number> = {}): string {
  return fill(template(entryOf(key) ?? key, values['n']), (name) => {
    const value = values[name]
    return typeof value === 'number' ? numberFormat(language.locale).format(value) : value
  })
}

/** The entry of a code, if there is one; nothing is said while it is on its way. */
export function entryOf(code: string): Entry | undefined {
  return table[code] ?? (comes(code) ? '' : undefined)
}

/** Whether the words of a code are on their way. What asks in a template is drawn anew when they are there. */
function comes(code: string): boolean {
  if (!fetchFor?.(code)) return false
  whenMore()
  return true
}

/** Say something if there is a word for it, otherwise the given text as it stands. */
export function sayOr(key: string, instead: string): string {
  return known(key) ? say(key) : instead
}

/** Whether there is a word for it. */
export function known(key: string): key is Key {
  return key in table || (comes(key), false)
}

/** The words of an entry: one text, or the one for a count. */
export function template(entry: Entry, n: unknown): string {
  if (typeof entry === 'string') return entry
  return entry[pluralRules(language.locale).select(Number(n ?? 0))] ?? entry['other'] ?? ''
}

/** Put values in for `{name}`. */
export function fill(words: string, value: (name: string) => string | undefined): string {
  return unbroken(words.replace(/\{(\w+)\}/g, (whole, name: string) => value(name) ?? whole))
}
