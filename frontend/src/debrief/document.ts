/** The debrief that a page shows: its types are those of the service's own description. */
import type {
  SchemaDebriefDocument,
  SchemaDebriefedBurial,
  SchemaDebriefedSearcher,
  SchemaDebriefedSite,
  SchemaDebriefedTrack,
  SchemaFinding,
  SchemaGap,
  SchemaPhase,
  SchemaReadings,
  SchemaSweptCells,
  SchemaTrackPiece,
} from '../api/schema'

export type { Point } from '../plan/point'

/** A debrief with its ground: without one there is nothing to show. */
export type DebriefDocument = SchemaDebriefDocument & { site: SchemaDebriefedSite }
export type Searcher = SchemaDebriefedSearcher
export type Track = SchemaDebriefedTrack
export type Piece = SchemaTrackPiece
export type Phase = SchemaPhase
export type Burial = SchemaDebriefedBurial
export type Site = SchemaDebriefedSite
export type Finding = SchemaFinding
export type Gap = SchemaGap
export type Swept = SchemaSweptCells
export type Readings = SchemaReadings

export type Loaded = { document: DebriefDocument; faults: [] } | { document: null; faults: string[] }

/** Return a debrief that has its ground, or what is missing. */
export function withGround(document: SchemaDebriefDocument): Loaded {
  const { site } = document
  if (!site) return { document: null, faults: ['site: is missing; a debrief without its ground cannot be shown'] }
  return { document: { ...document, site }, faults: [] }
}

/** Read the debrief that a page carries; it was checked when it was written there. */
export function parseDocument(json: string): Loaded {
  if (!json.trim()) return { document: null, faults: ['no debrief is embedded in this page'] }
  try {
    return withGround(JSON.parse(json) as SchemaDebriefDocument)
  } catch {
    return { document: null, faults: ['the embedded debrief is not JSON: the file may be cut short'] }
  }
}
