/** What a phase is compared with: rehearsals of the drill, the group's earlier runs, a standard. */
import type { DebriefDocument } from './document'
import type { Person } from './people'
import { PHASES } from './ribbon'

export interface Mark {
  words: string
  initials: string
  /** CSS property of the person's hue; none for a burial. */
  hue: string | null
  seconds: number
}

export interface Yardstick {
  what: string
  burial: string | null
  marks: Mark[]
  /** The band with the uncertainty of the settings; `scatter` is the narrower band of runs alone. A percentile is null if it lies among runs that fail. */
  band: { p10: number; p50: number | null; p90: number | null; scatter: { p10: number; p90: number | null } | null } | null
  earlier: { times: number; best_s: number; p50_s: number } | null
  standard_s: number | null
}

/** One row for each phase at each burial that can be compared, in the order of the work. */
export function yardsticksOf(document: DebriefDocument, people: readonly Person[]): Yardstick[] {
  const order = PHASES.map(String)
  const rows = places(document).map(({ phase, burial }): Yardstick => {
    const band = document.bands.find((one) => one.phase === phase && one.burial === burial)
    return {
      what: phase,
      burial,
      marks: phase === 'dig' && document.digs.length ? digMarks(document, burial) : marksOf(people, phase, burial),
      band: whole(band),
      earlier: document.earlier.find((one) => one.phase === phase) ?? null,
      standard_s: standardOf(document, phase),
    }
  })
  rows.sort((a, b) => order.indexOf(a.what) - order.indexOf(b.what))
  return [...rows, ...moments(document)].filter((row) => row.band || row.earlier || row.standard_s !== null)
}

/** The longest time on any row. */
export function longestOf(rows: readonly Yardstick[]): number {
  return Math.max(
    1,
    ...rows.flatMap((row) => [
      row.band?.p90 ?? 1.25 * (row.band?.p50 ?? row.band?.p10 ?? 0),
      row.earlier?.p50_s ?? 0,
      row.standard_s ?? 0,
      ...row.marks.map(({ seconds }) => seconds),
    ]),
  )
}

function places(document: DebriefDocument): { phase: string; burial: string | null }[] {
  const seen = [
    ...document.bands.map(({ phase, burial }) => ({ phase, burial })),
    ...document.searchers.flatMap((person) => person.phases.map(({ phase, burial }) => ({ phase, burial }))),
  ].filter(({ burial }) => burial !== null)
  return [...new Map(seen.map((place) => [`${place.phase} ${place.burial}`, place])).values()]
}

function marksOf(people: readonly Person[], phase: string, burial: string | null): Mark[] {
  return people.flatMap(({ name, initials, hue, searcher }) =>
    searcher.phases
      .filter((one) => one.phase === phase && one.burial === burial)
      .map((one) => ({ words: name, initials, hue, seconds: one.end_s - one.start_s })),
  )
}

/** Several people dig together, so there is one mark for the hole. */
function digMarks(document: DebriefDocument, burial: string | null): Mark[] {
  return document.digs
    .filter((dig) => dig.burial === burial)
    .map((dig) => ({ words: dig.burial, initials: dig.burial, hue: null, seconds: dig.end_s - dig.start_s }))
}

/** From the alarm to the strike, and to the free airway, if there is a standard for them. */
function moments(document: DebriefDocument): Yardstick[] {
  return (['strike', 'airway'] as const).flatMap((what) => {
    const marks = document.burials.flatMap((burial) => {
      const seconds = what === 'strike' ? burial.struck_s : burial.clear_s
      return seconds === null ? [] : [{ words: burial.id, initials: burial.id, hue: null, seconds }]
    })
    const standard_s = standardOf(document, what)
    return marks.length ? [{ what, burial: null, marks, band: null, earlier: null, standard_s }] : []
  })
}

function standardOf(document: DebriefDocument, what: string): number | null {
  return document.standards.find((standard) => standard.what === what)?.most_s ?? null
}

function whole(band: DebriefDocument['bands'][number] | undefined): Yardstick['band'] {
  if (!band || band.p10 === null) return null
  const { p10, p50, p90, scatter } = band
  return { p10, p50, p90, scatter: scatter && scatter.p10 !== null ? { p10: scatter.p10, p90: scatter.p90 } : null }
}
