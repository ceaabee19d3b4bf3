/** The words on the plan of a drill: which are wanted, where they may stand, what they keep off. */
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
  /** What the words belong to, where a line leads to it from farther off. */
  at: Point | null
}

export interface Word extends Placed {
  tone: Tone
  words: string
  /** A line to what the words belong to, where they stand farther off. */
  tail: readonly [Point, Point] | null
}

const AIR_PX = 2
const LINE_HEIGHT = 1.3
/** Words farther off than this have a line to what they belong to. */
const FAR_PX = 16

export function sized(tone: Tone, words: string): { width: number; height: number } {
  const { size, bold } = TONES[tone]
  return { width: Math.ceil(widthOfWords(words, size, bold)) + 2 * AIR_PX, height: Math.ceil(size * LINE_HEIGHT) }
}

/** Words of a place: beside it where there is room, else farther off. */
export function ofPlace(tone: Tone, key: string, words: string, at: Point, first: (width: number, height: number) => Point[] = () => []): Wanted {
  const { width, height } = sized(tone, words)
  return { key, tone, words, at, width, height, must: false, tries: [...first(width, height), ...beside(at, width, height), ...about(at, width, height)] }
}

/** Words of a line, on it: at some of its points, from its middle outwards. */
export function ofLine(tone: Tone, key: string, words: string, line: readonly Point[], most = 24): Wanted {
  const { width, height } = sized(tone, words)
  const step = Math.max(1, Math.floor(line.length / most))
  const middle = line.length / 2
  const places = line.filter((_, k) => k % step === 0).map((place, k) => ({ place, off: Math.abs(k * step - middle) }))
  const tries = places.sort((a, b) => a.off - b.off).flatMap(({ place }) => upon(place, width, height).slice(0, 1))
  return { key, tone, words, at: null, width, height, must: false, tries }
}

/** What words of an entry try first: below it, outside the ground as a rule. */
export const below = ([x, y]: Point): ((width: number, height: number) => Point[]) => (width) => [[x - width / 2, y + 13]]
export const above = ([x, y]: Point): ((width: number, height: number) => Point[]) => (width, height) => [[x - width / 2, y - 10 - height]]

/** The word as it is drawn, with its line. */
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

/** A ring as a line that ends where it begins. */
export const closed = (ring: readonly Point[]): Point[] => (ring[0] ? [...ring, ring[0]] : [])
