/** One catalogue for the whole page: `say('plan.title')`, `say('page.people', { n: 4 })`. */
import { en, type Key, type Words } from './en'

export type { Key } from './en'

const CATALOGUES: Record<string, Words> = { en }

let language = 'en'

/** Choose the language for everything said from now on; an unknown one leaves English. */
export function useLanguage(wanted: string): string {
  language = wanted in CATALOGUES ? wanted : 'en'
  return language
}

export function currentLanguage(): string {
  return language
}

/** Say something in the chosen language, with values filled in for `{name}`. */
export function say(key: Key, values: Record<string, string | number> = {}): string {
  const entry = (CATALOGUES[language] ?? en)[key]
  const template = typeof entry === 'string' ? entry : entry[plural(values['n'])]
  return template.replace(/\{(\w+)\}/g, (whole, name: string) => {
    const value = values[name]
    if (value === undefined) return whole
    return typeof value === 'number' ? count(value) : value
  })
}

/** Say something if there is a word for it, otherwise the given text as it stands. */
export function sayOr(key: string, instead: string): string {
  return key in en ? say(key as Key) : instead
}

function count(value: number): string {
  return new Intl.NumberFormat(language).format(value)
}

function plural(n: string | number | undefined): 'one' | 'other' {
  return new Intl.PluralRules(language).select(Number(n ?? 0)) === 'one' ? 'one' : 'other'
}
