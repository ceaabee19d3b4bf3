/** The catalogue of the chosen language, and functions to use it. */
import { createSubscriber } from 'svelte/reactivity'

import type { Key } from './keys'
import { numberFormat, pluralRules, unbroken } from './numbers'

export type Entry = string | Readonly<Record<string, string>>
export type Table = Readonly<Record<string, Entry>>

/** A language with a catalogue: its own name, and the locale of its numbers, dates and plurals. */
export interface Language {
  readonly tag: string
  readonly name: string
  readonly locale: string
}

let language: Language = { tag: 'en', name: 'English', locale: 'en-GB' }
let table: Table = {}
let offered: readonly Language[] = [language]

/** Fetches the words of a missing code and returns whether they may come; null if a page contains all its words. */
let fetchFor: ((code: string) => boolean) | null = null
const waiting = new Set<() => void>()
const whenMore = createSubscriber((update) => {
  waiting.add(update)
  return () => waiting.delete(update)
})

/** Use this language from now on. */
export function useWords(wanted: Language, words: Table): void {
  language = wanted
  table = words
}

/** Add words of the chosen language and refresh what was waiting for them. */
export function addWords(words: Table): void {
  table = { ...table, ...words }
  for (const update of [...waiting]) update()
}

/** Set the function that fetches the words of a missing code. */
export function fetchWordsBy(fetching: typeof fetchFor): void {
  fetchFor = fetching
}

/** All languages that can be chosen here. */
export function languages(): readonly Language[] {
  return offered
}

export function offerLanguages(all: readonly Language[]): void {
  offered = all
}

export function currentLanguage(): string {
  return language.tag
}

/** The locale of numbers and dates. */
export function currentLocale(): string {
  return language.locale
}

/** Return the language of a tag such as 'de-CH', if it has a catalogue. */
export function languageOf(tag: string, among: readonly Language[] = offered): Language | null {
  const name = tag.toLowerCase()
  return among.find((one) => one.tag.toLowerCase() === name) ?? among.find((one) => one.tag === name.split('-')[0]) ?? null
}

/** Return the text of a key in the chosen language, with values for `{name}`. */
export function say(key: Key, values: Record<string, string | number> = {}): string {
  return fill(template(entryOf(key) ?? key, values['n']), (name) => {
    const value = values[name]
    return typeof value === 'number' ? numberFormat(language.locale).format(value) : value
  })
}

/** The entry of a code, if there is one; undefined while it is loading. */
export function entryOf(code: string): Entry | undefined {
  return table[code] ?? (comes(code) ? '' : undefined)
}

/** Whether the words of a code are loading. A template that calls this is refreshed when they arrive. */
function comes(code: string): boolean {
  if (!fetchFor?.(code)) return false
  whenMore()
  return true
}

/** Return the text of a key if there is one, otherwise the given text. */
export function sayOr(key: string, instead: string): string {
  return known(key) ? say(key) : instead
}

/** Whether a key has a text. */
export function known(key: string): key is Key {
  return key in table || (comes(key), false)
}

/** The text of an entry: the only one, or the one for a count. */
export function template(entry: Entry, n: unknown): string {
  if (typeof entry === 'string') return entry
  return entry[pluralRules(language.locale).select(Number(n ?? 0))] ?? entry['other'] ?? ''
}

/** Fill in values for `{name}`. */
export function fill(words: string, value: (name: string) => string | undefined): string {
  return unbroken(words.replace(/\{(\w+)\}/g, (whole, name: string) => value(name) ?? whole))
}
