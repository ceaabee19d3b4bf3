/** The debrief of a page; its types come from the service's OpenAPI description. */
import type { SchemaDebriefDocument } from '../api/schema'
import type { Point } from '../plan/point'
import { type Message, say } from '../words'

export type { Point } from '../plan/point'

type Places =
  | 'boundary_m'
  | 'entry_m'
  | 'holes_m'
  | 'last_seen_m'
  | 'line_m'
  | 'lines_m'
  | 'offset_m'
  | 'origin_m'
  | 'position_m'
  | 'ring_m'
  | 'shift_m'

type AsPlaces<T> = T extends number[] ? Point : T extends (infer U)[] ? AsPlaces<U>[] : T

/** The description types a place as a list of numbers; here it is east and north. Messages have the type of the words module. */
type Placed<T> = T extends { code: string }
  ? Message
  : T extends (infer U)[]
  ? Placed<U>[]
  : T extends object
    ? { [K in keyof T]: K extends Places ? AsPlaces<T[K]> : Placed<T[K]> }
    : T

type Whole = Placed<SchemaDebriefDocument>

export type Site = NonNullable<Whole['site']>

/** A debrief with its ground; without a ground there is nothing to show. */
export type DebriefDocument = Omit<Whole, 'site'> & { site: Site }
export type Searcher = Whole['searchers'][number]
export type Track = NonNullable<Searcher['track']>
export type Piece = Track['pieces'][number]
export type Phase = Searcher['phases'][number]
export type Readings = Searcher['readings'][number]
export type Burial = Whole['burials'][number]
export type Finding = Whole['findings'][number]
export type Gap = Whole['gaps'][number]
export type Swept = NonNullable<Whole['swept']>

export type Loaded = { document: DebriefDocument; faults: [] } | { document: null; faults: string[] }

/** Return a debrief with its ground, or what is missing. */
export function withGround(document: SchemaDebriefDocument): Loaded {
  const { site, ...rest } = document as unknown as Whole
  if (!site) return { document: null, faults: [say('fault.noGround')] }
  return { document: { ...rest, site }, faults: [] }
}

/** Read the debrief embedded in a page; it was checked when it was written. */
export function parseDocument(json: string): Loaded {
  if (!json.trim()) return { document: null, faults: [say('fault.noDebrief')] }
  try {
    return withGround(JSON.parse(json) as SchemaDebriefDocument)
  } catch {
    return { document: null, faults: [say('fault.cutShort')] }
  }
}
