/** Hearing in sentences. */
import { say, type Key } from '../../words'
import { wholeMetres, metres } from '../../words/format'
import { NEAREST_M } from './field'
import type { Here } from './packed'

const LINES: readonly Key[] = [
  'hearing.line0', 'hearing.line1', 'hearing.line2', 'hearing.line3', 'hearing.line4', 'hearing.line5', 'hearing.line6', 'hearing.line7',
]

/** 'line runs north-east to south-west'. */
export function lineWords(line_deg: number | null): string {
  if (line_deg === null) return say('hearing.noLine')
  return say(LINES[Math.round(line_deg / 22.5) % 8] ?? 'hearing.line0')
}

/** The reading of one set at a place, and how many of the group hear it there. */
export function hereWords(here: Here, name: string, searchers: number): string {
  const { id, heardBy: by } = here
  if (!here.heard) return by === 0 ? say('hearing.nobodyHears', { id }) : say('hearing.othersHear', { id, name, by, n: searchers })
  const near = here.reading_m < NEAREST_M
  const reading = near ? say('hearing.under', { reading: wholeMetres(NEAREST_M) }) : metres(here.reading_m)
  return say('hearing.reads', { id, reading, line: near ? '' : `, ${here.lines ? lineWords(here.line_deg) : say('hearing.oneAntenna')}`, by, n: searchers })
}
