/** The marks of each person: a hue, a dash and initials, so never colour alone. */
import { say } from '../words'
import { keptPoints } from '../plan/polyline'
import type { DebriefDocument, Piece, Searcher } from './document'

/** Dashes for lines 3 px wide, one for each of the first eight people; the next eight get longer ones. */
const DASHES = ['none', '11 5', '3 5', '13 4 3 4', '7 4', '15 4 3 4 3 4', '2 3', '9 3 2 3']
const DASHES_AGAIN = ['22 4', '18 8', '6 8', '20 6 6 6', '12 8', '24 4 6 4 6 4', '4 6', '16 6 4 6']

export const HUES = 8

/** The hue (name of a CSS property) and dash of the i-th person. */
export function markOf(i: number): { hue: string; dash: string } {
  return { hue: `--person-${i % HUES}`, dash: (i % (2 * HUES) < HUES ? DASHES : DASHES_AGAIN)[i % HUES] ?? 'none' }
}

export interface Person {
  id: string
  name: string
  initials: string
  /** Name of the CSS property with the hue in both themes. */
  hue: string
  dash: string
  searcher: Searcher
  pieces: Piece[]
  /** The same track with only the points that shape it, for drawing. */
  drawn: Piece[]
}

/** Simplify tracks to 10 cm, far below the accuracy of any position on them. */
const DRAWN_TOLERANCE_M = 0.1

/** The people of a run; without tracks only those named by a split, and 'nobody named' for the rest. */
export function peopleOf(document: DebriefDocument): Person[] {
  const searchers = hasTracks(document) ? document.searchers : bySplits(document)
  const names = searchers.map((searcher) => searcher.name || searcher.id)
  const initials = initialsOf(names)
  return searchers.map((searcher, i) => {
    const pieces = searcher.track?.pieces ?? []
    return {
      id: searcher.id,
      name: names[i] ?? searcher.id,
      initials: initials[i] ?? '?',
      ...markOf(i),
      searcher,
      pieces,
      drawn: pieces.map(draw),
    }
  })
}

export function hasTracks({ searchers }: DebriefDocument): boolean {
  return !searchers.length || searchers.some(({ track }) => track !== null)
}

function bySplits(document: DebriefDocument): Searcher[] {
  const named = new Set([...document.splits, ...document.findings].map(({ searcher }) => searcher))
  const told = document.searchers.filter(({ id, phases }) => phases.length || named.has(id))
  if (!document.nobodys_phases.length) return told
  const nobody = { id: '', name: say('page.nobody'), track: null, readings: [], audible: [], approaches: [], idle: [] }
  return [...told, { ...nobody, phases: document.nobodys_phases }]
}

function draw(piece: Piece): Piece {
  const kept = keptPoints(piece.position_m, DRAWN_TOLERANCE_M)
  return {
    t_s: kept.map((i) => piece.t_s[i] ?? 0),
    position_m: kept.map((i) => piece.position_m[i] ?? [0, 0]),
  }
}

/** Two characters for each name, all different. */
export function initialsOf(names: readonly string[]): string[] {
  const taken = new Set<string>()
  return names.map((name, k) => {
    const letters = [...name.toLocaleUpperCase()].filter((letter) => /[\p{L}\p{N}]/u.test(letter))
    const first = letters[0] ?? '?'
    const wanted = [...letters.slice(1).map((letter) => first + letter), first, first + String(k + 1)]
    // Numbered names use their last digit: 'Searcher 3' is S3.
    const number = /(\d+)\s*$/.exec(name)?.[1]
    if (number) wanted.unshift(first + number.slice(-2))
    const found = wanted.find((text) => !taken.has(text)) ?? first + String(k + 1)
    taken.add(found)
    return found
  })
}
