/** Sentences that still come from the service in English, until each is a message. */
import { currentLanguage, currentLocale, entries, fill } from './catalogue'
import { numberFormat, unbroken } from './numbers'
import type { Told } from './told'

let sentences: [RegExp, string][] = []
let terms = new Map<string, string>()
/** What we say ourselves in this language, made when first asked for. */
let shapes: RegExp[] | null = null

export function useTold(told: Told): void {
  shapes = null
  sentences = [...told].sort(([a], [b]) => fixed(b) - fixed(a)).map(([english, other]) => [pattern(english), other])
  terms = new Map(told.filter(([english]) => !english.includes('{')))
}

/**
 * A sentence that the service said in English, in the chosen language; `null` where it is not
 * known in it. Inner parts that are sentences, or lists of terms, are told too; others are put in as they
 * came. A place in front of a sentence (`bowl.json: burials[1].depth_m: must be ...`) stays.
 */
export function told(english: string): string | null {
  return currentLanguage() === 'en' ? unbroken(english) : (whole(english) ?? (ours(english) ? english : behindPlace(english)))
}

function whole(english: string): string | null {
  for (const [shape, other] of sentences) {
    const found = shape.exec(english)
    if (found) {
      const groups = Object.entries(found.groups ?? {}).map(([name, part]) => [name, inner(part)])
      const values = Object.fromEntries(groups) as Record<string, string>
      return fill(other, (name) => values[name])
    }
  }
  return null
}

/** Whether a line is one of our own sentences, which needs no telling. */
function ours(line: string): boolean {
  shapes ??= entries()
    .flatMap((entry) => (typeof entry === 'string' ? [entry] : Object.values(entry)))
    .filter((words) => /\p{L} \p{L}/u.test(words.replace(/\{\w+\}/g, '')))
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
  if (/^[+-]?\d+\.\d+$/.test(part)) return part.replace('.', numberFormat(currentLocale()).format(0.5).charAt(1))
  const sentence = part.includes(' ') ? told(part) : null
  return sentence ?? part.split(', ').map((term) => terms.get(term) ?? term).join(', ')
}

/** How much of a sentence does not change: the one with the most is tried first. */
function fixed(english: string): number {
  return english.replace(/\{\w+\}/g, '').length
}

function pattern(english: string): RegExp {
  const seen = new Set<string>()
  // A value that stands twice is the same both times.
  const value = (_: string, name: string): string => (seen.has(name) ? `\\k<${name}>` : (seen.add(name), `(?<${name}>.+?)`))
  const shape = english.replace(/[.*+?^$()|[\]\\]/g, '\\$&').replace(/\{(\w+)\}/g, value)
  return new RegExp(`^${shape}$`, 's')
}
