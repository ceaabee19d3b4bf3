/** The labels wanted on the plan of a drill, with their possible places and what they avoid. */
import { about, around, beside, upon, type Label, type Line, type Placed, type Rectangle } from '../../plan/labels'
import { widthOfWords } from '../../plan/measure'
import type { Point } from '../../plan/point'

export type Tone = 'burial' | 'fixed' | 'person' | 'alert' | 'done' | 'line'

const TONES: Readonly<Record<Tone, { size: number; bold: boolean }>> = {
  burial: { size: 15, bold: true },
  fixed: { size: 14, bold: false },
  person: { size: 14, bold: true },
  alert: { size: 14, bold: true },
  done: { size: 14, bold: true },
  line: { size: 13, bold: false },
}

export const styleOf = (tone: Tone): { size: number; bold: boolean } => TONES[tone]

export interface Wanted extends Label {
  tone: Tone
  words: string
  /** What the label belongs to, for a line from farther away. */
  at: Point | null
}

export interface Word extends Placed {
  tone: Tone
  words: string
  /** A line to what the label belongs to, if it is farther away. */
  tail: readonly [Point, Point] | null
}

const AIR_PX = 2
const LINE_HEIGHT = 1.3
/** Labels farther away than this have a line to what they belong to. */
const FAR_PX = 16

export function sized(tone: Tone, words: string): { width: number; height: number } {
  const { size, bold } = TONES[tone]
  return { width: Math.ceil(widthOfWords(words, size, bold)) + 2 * AIR_PX, height: Math.ceil(size * LINE_HEIGHT) }
}

/** The label of a place: beside it if there is room, else farther away. */
export function ofPlace(tone: Tone, key: string, words: string, at: Point, first: (width: number, height: number) => Point[] = () => []): Wanted {
  const { width, height } = sized(tone, words)
  return { key, tone, words, at, width, height, must: false, tries: [...first(width, height), ...beside(at, width, height), ...about(at, width, height)] }
}

/** The label of a line, placed on it: at some of its points, from the middle outwards. */
export function ofLine(tone: Tone, key: string, words: string, line: readonly Point[], most = 24): Wanted {
  const { width, height } = sized(tone, words)
  const step = Math.max(1, Math.floor(line.length / most))
  const middle = line.length / 2
  const places = line.filter((_, k) => k % step === 0).map((place, k) => ({ place, off: Math.abs(k * step - middle) }))
  const tries = places.sort((a, b) => a.off - b.off).flatMap(({ place }) => upon(place, width, height).slice(0, 1))
  return { key, tone, words, at: null, width, height, must: false, tries }
}

/** The first choice for the label of an entry: below it, which is usually outside the ground. */
export const below = ([x, y]: Point): ((width: number, height: number) => Point[]) => (width) => [[x - width / 2, y + 13]]
export const above = ([x, y]: Point): ((width: number, height: number) => Point[]) => (width, height) => [[x - width / 2, y - 10 - height]]

/** The label as drawn, with its line. */
export function wordOf(placed: Placed, { tone, words, at }: Wanted): Word {
  if (!at) return { ...placed, tone, words, tail: null }
  const near: Point = [Math.min(Math.max(at[0], placed.x), placed.x + placed.width), Math.min(Math.max(at[1], placed.y), placed.y + placed.height)]
  const far = Math.hypot(near[0] - at[0], near[1] - at[1]) > FAR_PX
  return { ...placed, tone, words, tail: far ? [near, at] : null }
}

export interface Scene {
  wanted: Wanted[]
  taken: Rectangle[]
  lines: Line[]
}

export const mark = (at: Point, half: number): Rectangle => around(at, half)

/** A ring as a closed line. */
export const closed = (ring: readonly Point[]): Point[] => (ring[0] ? [...ring, ring[0]] : [])
