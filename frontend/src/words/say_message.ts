/** Turn a message, a code with typed values, into text. */
import { entryOf, fill, template } from './catalogue'
import { isMessage, type Message, type Value } from './message'
import { unbroken } from './numbers'
import { counted, written } from './quantities'

/** Return the text of a message, with its place first. */
export function sayMessage({ code, values = {}, place = [] }: Message): string {
  const places = place.map((part) => (isMessage(part) ? sayMessage(part) : part))
  return [...places, wordsOf(code, values)].join(': ')
}

/** Whether a message is untranslated text, from a library or an older document. */
export function isVerbatim(message: Message): boolean {
  return message.code === 'verbatim'
}

function wordsOf(code: string, values: Readonly<Record<string, Value>>): string {
  if (code === 'verbatim') return unbroken(typeof values['text'] === 'string' ? values['text'] : '')
  const entry = entryOf(code)
  if (entry === undefined) return `${code} ${Object.entries(values).map(([name, value]) => `${name}=${JSON.stringify(value)}`).join(', ')}`.trim()
  const n = values['n']
  return fill(template(entry, typeof n === 'object' && 'kind' in n ? n.value : n), (name) => filled(values[name]))
}

function filled(value: Value | undefined): string | undefined {
  if (value === undefined || typeof value === 'string') return value
  if (typeof value === 'number') return counted(value)
  if (Array.isArray(value)) return (value as readonly Value[]).map(filled).join(', ')
  return isMessage(value) ? sayMessage(value) : written(value as Exclude<typeof value, readonly unknown[]>)
}

/** A message, or a line of the page that is text already. */
export type Said = Message | string

export function saidText(said: Said): string {
  return typeof said === 'string' ? said : sayMessage(said)
}

/** Whether a message has one of these codes, so that a page does not depend on the language. */
export function isOneOf(said: Said, codes: readonly string[]): boolean {
  return typeof said !== 'string' && codes.includes(said.code)
}
