/** One catalogue for everything: `say('plan.title')`, `say('page.people', { n: 4 })`. */
import type { en } from './en'
import { numberFormat, pluralRules, unbroken } from './numbers'
import type { Told } from './told'

export type Key = keyof typeof en
export type Entry = string | { readonly one: string; readonly other: string }
export type Table = Partial<Record<Key, Entry>>

/** The shape every other language must fill, part by part: each string and each plural, no more and no less. */
export type Words<Part> = { readonly [K in keyof Part]: Part[K] extends string ? string : { readonly one: string; readonly other: string } }

/** Every language there is a catalogue of, by its own name. */
export const LANGUAGES = { en: 'English', de: 'Deutsch' } as const
export type Language = keyof typeof LANGUAGES

let language: Language = 'en'
let table: Table = {}
let sentences: [RegExp, string][] = []
let terms = new Map<string, string>()
/** What we say ourselves in this language, made when first asked for. */
let shapes: RegExp[] | null = null

/** Say everything from now on in this language. */
export function useWords(wanted: Language, words: Table, told: Told = []): void {
  language = wanted
  table = words
  shapes = null
  sentences = [...told].sort(([a], [b]) => fixed(b) - fixed(a)).map(([english, other]) => [pattern(english), other])
  terms = new Map(told.filter(([english]) => !english.includes('{')))
}

export function currentLanguage(): Language {
  return language
}

/** Return the language of a tag such as 'de-CH', if there is a catalogue for it. */
export function languageOf(tag: string): Language | null {
  const name = tag.toLowerCase().split('-')[0] ?? ''
  return name in LANGUAGES ? (name as Language) : null
}

/** Say something in the chosen language, with values filled in for `{name}`. */
export function say(key: Key, values: Record<string, string | number> = {}): string {
  const entry = table[key] ?? key
  const template = typeof entry === 'string' ? entry : entry[plural(values['n'])]
  return fill(template, values)
}

/** Say something if there is a word for it, otherwise the given text as it stands. */
export function sayOr(key: string, instead: string): string {
  return key in table ? say(key as Key) : instead
}

/** Whether there is a word for it. */
export function known(key: string): key is Key {
  return key in table
}

/**
 * A sentence that the service said in English, in the chosen language; `null` where it is not
 * known in it. Inner parts that are sentences, or lists of terms, are told too; others are put in as they
 * came. A place in front of a sentence (`bowl.json: burials[1].depth_m: must be ...`) stays.
 */
export function told(english: string): string | null {
  return language === 'en' ? unbroken(english) : (whole(english) ?? (ours(english) ? english : behindPlace(english)))
}

function whole(english: string): string | null {
  for (const [shape, other] of sentences) {
    const found = shape.exec(english)
    if (found) return fill(other, Object.fromEntries(Object.entries(found.groups ?? {}).map(([name, part]) => [name, inner(part)])))
  }
  return null
}

/** Whether a line is one of our own sentences, which needs no telling. */
function ours(line: string): boolean {
  shapes ??= Object.values(table)
    .flatMap((entry) => (typeof entry === 'string' ? [entry] : [entry.one, entry.other]))
    .filter((template) => /\p{L} \p{L}/u.test(template.replace(/\{\w+\}/g, '')))
    .map(pattern)
  const plain = line.replaceAll('\u00a0', ' ')
  return shapes.some((shape) => shape.test(plain))
}

function behindPlace(english: string): string | null {
  const end = english.indexOf(': ')
  const rest = end < 1 ? null : told(english.slice(end + 2))
  const place = english.slice(0, end)
  return rest === null ? null : `${whole(place) ?? place}: ${rest}`
}

/** The same, or in English where it is not known. */
export function toldOr(english: string): string {
  return told(english) ?? english
}

function inner(part: string): string {
  if (/^[+-]?\d+\.\d+$/.test(part)) return part.replace('.', numberFormat(language).format(0.5).charAt(1))
  const sentence = part.includes(' ') ? told(part) : null
  return sentence ?? part.split(', ').map((term) => terms.get(term) ?? term).join(', ')
}

/** How much of a sentence does not change: the one with the most is tried first. */
function fixed(english: string): number {
  return english.replace(/\{\w+\}/g, '').length
}

function pattern(english: string): RegExp {
  const shape = english.replace(/[.*+?^$()|[\]\\]/g, '\\$&').replace(/\{(\w+)\}/g, '(?<$1>.+?)')
  return new RegExp(`^${shape}$`, 's')
}

function fill(template: string, values: Record<string, string | number>): string {
  const filled = template.replace(/\{(\w+)\}/g, (whole, name: string) => {
    const value = values[name]
    if (value === undefined) return whole
    return typeof value === 'number' ? numberFormat(language).format(value) : value
  })
  return unbroken(filled)
}

function plural(n: string | number | undefined): 'one' | 'other' {
  return pluralRules(language).select(Number(n ?? 0)) === 'one' ? 'one' : 'other'
}
