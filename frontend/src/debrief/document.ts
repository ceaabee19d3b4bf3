/**
 * The debrief document: what `coldfield debrief --json` prints and the page shows.
 *
 * Times are seconds from the alarm (or, without one, from the first track point); positions are
 * [east, north] in metres in plan. Keys that a debrief may lack are filled, so the page need not ask.
 */
import {
  anything,
  flag,
  list,
  listOrNone,
  nullable,
  number,
  object,
  otherwise,
  point,
  text,
  type Read,
} from './reader'

export type { Point } from './reader'

export const FORMAT = 'coldfield-debrief/1'

const line = list(point)
const seconds = nullable(number)

const piece = object({ t_s: list(number), position_m: line })

const track = object({
  points: otherwise(number, 0),
  seconds: otherwise(number, 0),
  length_m: nullable(number),
  raw_length_m: nullable(number),
  accuracy_m: nullable(number),
  file: otherwise(text, ''),
  clock_shift_s: otherwise(number, 0),
  notes: listOrNone(text),
  pieces: listOrNone(piece),
})

const phase = object({
  burial: nullable(text),
  phase: text,
  start_s: number,
  end_s: number,
  border_uncertainty_s: nullable(number),
  length_m: nullable(number),
  speed_m_s: nullable(number),
  flux_line_ratio: nullable(number),
})

/** One person's way to one burial, with how sure each moment is. */
const approach = object({
  burial: text,
  audible_s: seconds,
  audible_uncertainty_s: seconds,
  turn_s: seconds,
  turn_uncertainty_s: seconds,
  reading_3_m_s: seconds,
  reading_3_m_uncertainty_s: seconds,
  side_distance_m: nullable(number),
  speed_above_10_m_s: nullable(number),
  speed_below_10_m_s: nullable(number),
})

const searcher = object({
  id: text,
  name: otherwise(text, ''),
  track: nullable(track),
  readings: listOrNone(object({ burial: text, t_s: list(number), reading_m: list(nullable(number)) })),
  audible: listOrNone(object({ burial: text, seconds })),
  phases: listOrNone(phase),
  approaches: listOrNone(approach),
  idle: listOrNone(object({ start_s: number, end_s: number })),
})

const burial = object({
  id: text,
  position_m: point,
  depth_m: nullable(number),
  azimuth_deg: nullable(number),
  tilt_deg: nullable(number),
  has_set: otherwise(flag, true),
  outline: otherwise(text, ''),
  struck_s: seconds,
  clear_s: seconds,
  found_by: nullable(text),
})

const site = object({
  boundary_m: line,
  holes_m: listOrNone(line),
  entry_m: nullable(point),
  last_seen_m: nullable(point),
  anchors: listOrNone(object({ name: otherwise(text, ''), position_m: point })),
  slope_deg: otherwise(number, 0),
  aspect_deg: otherwise(number, 0),
  declination_deg: otherwise(nullable(number), null),
})

const hearing = object({
  searcher: nullable(text),
  words: otherwise(text, ''),
  contours: listOrNone(object({ burial: text, reading_m: number, lines_m: list(line) })),
  audible: listOrNone(object({ burial: text, lines_m: list(line) })),
})

const swept = object({
  cell_m: number,
  origin_m: point,
  columns: number,
  rows: number,
  runs: list(number),
})

const gap = object({
  position_m: point,
  area_m2: nullable(number),
  width_m: nullable(number),
  exceeds_accuracy: otherwise(flag, true),
  ring_m: listOrNone(point),
})

const survivalOfBurial = object({
  burial: text,
  curves: listOrNone(object({ name: text, at_airway: nullable(number) })),
  low: nullable(number),
  high: nullable(number),
})

const finding = object({
  kind: otherwise(text, ''),
  text,
  numbers: anything,
  searcher: nullable(text),
  burial: nullable(text),
  at_s: seconds,
  position_m: nullable(point),
  minutes: nullable(number),
  confidence: otherwise(text, ''),
  praise: otherwise(flag, false),
})

const document = object({
  format: text,
  made_by: otherwise(text, ''),
  title: otherwise(text, ''),
  simulated: otherwise(flag, false),
  run: object({
    alarm_utc: nullable(text),
    zero_utc: nullable(text),
    time_zero: otherwise(text, ''),
    end_s: otherwise(number, 0),
    strip_width_m: nullable(number),
    splits_shift_s: otherwise(number, 0),
    notes: listOrNone(text),
    files: listOrNone(text),
  }),
  site,
  burials: listOrNone(burial),
  searchers: listOrNone(searcher),
  nobodys_phases: listOrNone(phase),
  unknown_phases: listOrNone(object({ burial: text, phase: text, missing: listOrNone(text) })),
  lanes: listOrNone(object({ searcher: text, line_m: line })),
  hearing: nullable(hearing),
  flux_lines: listOrNone(object({ burial: text, searcher: text, line_m: line, length_m: nullable(number) })),
  swept: nullable(swept),
  swept_fraction: nullable(number),
  overlap_fraction: nullable(number),
  swept_by: listOrNone(object({ searcher: text, fraction: number })),
  gaps: listOrNone(gap),
  bands: listOrNone(
    object({ phase: text, p10: nullable(number), p50: nullable(number), p90: nullable(number), burial: nullable(text), scatter: nullable(object({ p10: nullable(number), p90: nullable(number) })) }),
  ),
  standards: listOrNone(object({ what: text, most_s: number })),
  earlier: listOrNone(object({ phase: text, times: number, best_s: number, p50_s: number })),
  survival: nullable(
    object({
      burial_to_alarm_s: nullable(number),
      burials: listOrNone(survivalOfBurial),
      note: otherwise(text, ''),
    }),
  ),
  splits: listOrNone(
    object({
      t_s: seconds,
      searcher: nullable(text),
      burial: nullable(text),
      split: text,
      note: otherwise(text, ''),
    }),
  ),
  findings: listOrNone(finding),
  cautions: listOrNone(text),
})

export type DebriefDocument = Read<typeof document>
export type Searcher = Read<typeof searcher>
export type Track = Read<typeof track>
export type Piece = Read<typeof piece>
export type Phase = Read<typeof phase>
export type Burial = Read<typeof burial>
export type Site = Read<typeof site>
export type Finding = Read<typeof finding>
export type Gap = Read<typeof gap>
export type Swept = Read<typeof swept>
export type Readings = Searcher['readings'][number]

export type Loaded = { document: DebriefDocument; faults: [] } | { document: null; faults: string[] }

/** Read a debrief document; return it, or every fault with its place. */
export function readDocument(value: unknown): Loaded {
  const faults: string[] = []
  const read = document(value, '', faults)
  if (read.format && read.format !== FORMAT) {
    return { document: null, faults: [`format: is '${read.format}', this page reads '${FORMAT}'`] }
  }
  if (!faults.length) faults.push(...twice('searchers', read.searchers), ...twice('burials', read.burials))
  if (!faults.length) faults.push(...unequalLists(read))
  if (!faults.length && read.site.boundary_m.length < 3) faults.push('site.boundary_m: must have 3 corners or more')
  return faults.length ? { document: null, faults } : { document: read, faults: [] }
}

/** Read a debrief document from its JSON text. */
export function parseDocument(json: string): Loaded {
  if (!json.trim()) return { document: null, faults: ['no debrief is embedded in this page'] }
  try {
    return readDocument(JSON.parse(json))
  } catch {
    return { document: null, faults: ['the embedded debrief is not JSON: the file may be cut short'] }
  }
}

function twice(path: string, things: readonly { id: string }[]): string[] {
  const ids = things.map(({ id }) => id)
  return ids.flatMap((id, i) => (ids.indexOf(id) < i ? [`${path}[${i}].id: '${id}' stands there twice`] : []))
}

function unequalLists(read: DebriefDocument): string[] {
  const faults: string[] = []
  read.searchers.forEach((person, i) => {
    person.track?.pieces.forEach((part, k) => {
      if (part.t_s.length !== part.position_m.length)
        faults.push(`searchers[${i}].track.pieces[${k}]: must have as many times as positions`)
    })
    person.readings.forEach((reading, k) => {
      if (reading.t_s.length !== reading.reading_m.length)
        faults.push(`searchers[${i}].readings[${k}]: must have as many times as readings`)
    })
  })
  return faults
}
