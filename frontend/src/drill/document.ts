/** A drill for the pages: the drill file with all optional keys filled in. */
import { DEFAULTS } from '../api/fields'
import type { SchemaDrillPart } from '../api/schema'
import type { Point } from '../plan/point'

export interface Origin {
  latitude_deg: number
  longitude_deg: number
  elevation_m: number
}

export interface Anchor {
  name: string
  position_m: Point
}

export interface Site {
  origin: Origin
  boundary_m: Point[]
  entry_m: Point
  holes_m: Point[][]
  slope_deg: number
  aspect_deg: number
  /** Null if unknown. */
  declination_deg: number | null
  last_seen_m: Point | null
  anchors: Anchor[]
}

export interface Antenna {
  azimuth_deg: number
  tilt_deg: number
}

export interface Transmitter {
  field_at_10m_ua_per_m: number
  period_s: number
  pulse_s: number
  phase_s: number
}

export interface Burial {
  id: string
  position_m: Point
  depth_m: number
  antenna: Antenna | null
  transmitter: Transmitter | null
  body_azimuth_deg: number | null
  outline: 'person' | 'sack'
  /** Stock number of the hidden set, if known. */
  set: string | null
}

export interface Receiver {
  coaxial_range_m: number | null
  threshold_na_per_m: number | null
  vertical_range_m: number | null
  reference_field_at_10m_ua_per_m: number
  antennas: number
  antenna_factors: number[] | null
  turning: boolean
  /** True for a typical marking function, or the share of times that it works. */
  marking: boolean | number
}

export const SKILLS = ['novice', 'practised', 'expert'] as const
export type SkillName = (typeof SKILLS)[number]

/** A group's own figures on top of a named skill: medians by key, spreads as standard deviations of the logarithm. */
export interface OwnSkill {
  like?: SkillName
  spread?: Record<string, { between?: number | null; within?: number | null } | null> | null
  shared?: number | null
  // eslint-disable-next-line @typescript-eslint/no-explicit-any -- a middle is a number; TypeScript asks the named keys to fit too
  [key: string]: any
}

export interface Searcher {
  id: string
  name: string
  skill: SkillName | OwnSkill
  receiver: Receiver
  probe_length_m: number | null
  shovel: boolean
  /** Stock number of the set that they search with, if known. */
  set: string | null
}

export interface Conditions {
  noise_rise_db: number
  snow_density_kg_m3: number
  travel: 'on foot' | 'on ski' | 'on snowshoe'
  strip_width_m: number | null
  burial_to_alarm_s: number
  /** The heading of all lanes; null for the quickest. */
  lane_heading_deg: number | null
}

export interface DrillDocument {
  format: 'coldfield-drill/1'
  name: string
  site: Site
  burials: Burial[]
  searchers: Searcher[]
  conditions: Conditions
}

/** A drill file as stored; keys with a default may be missing. */
export type DrillFile = SchemaDrillPart

export const TRANSMITTER: Transmitter = DEFAULTS.transmitter
export const RECEIVER: Receiver = DEFAULTS.receiver
export const SEARCHER = DEFAULTS.searcher

const known = new WeakMap<object, DrillDocument>()

/** Fill in the schema's defaults in a stored drill file; complete parts stay the same objects. */
export function complete(file: DrillFile): DrillDocument {
  const found = known.get(file)
  if (found) return found
  const whole = replaced(file, {
    site: filled(file.site, DEFAULTS.site),
    burials: each(file.burials, burial),
    searchers: each(file.searchers, searcher),
    conditions: filled(file.conditions ?? {}, DEFAULTS.conditions),
  }) as unknown as DrillDocument
  known.set(file, whole)
  return whole
}

function burial(of: DrillFile['burials'][number]): object {
  const transmitter = of.transmitter && filled(of.transmitter, TRANSMITTER)
  return replaced(filled(of, DEFAULTS.burial), { transmitter })
}

function searcher(of: DrillFile['searchers'][number]): object {
  const { probe, ...rest } = of
  const plain = probe === undefined ? of : { ...rest, probe_length_m: probe === false ? null : (of.probe_length_m ?? SEARCHER.probe_length_m) }
  return replaced(filled(plain, SEARCHER), { receiver: filled(of.receiver, RECEIVER) })
}

/** An object with its missing keys filled in. */
function filled(of: object, defaults: object): object {
  const lacks = Object.entries(defaults).filter(([key]) => (of as Record<string, unknown>)[key] === undefined)
  return lacks.length ? { ...of, ...Object.fromEntries(lacks) } : of
}

/** An object with some of its parts replaced. */
function replaced(of: object, parts: object): object {
  const other = Object.entries(parts).filter(([key, value]) => (of as Record<string, unknown>)[key] !== value)
  return other.length ? { ...of, ...Object.fromEntries(other) } : of
}

function each<T>(list: readonly T[], change: (item: T) => object): readonly object[] {
  const changed = list.map(change)
  return changed.some((item, i) => item !== (list[i] as object)) ? changed : (list as readonly object[])
}

/** Whether the ground has no map position yet, like a new drill on a square. */
export function isNowhere(origin: { latitude_deg: number; longitude_deg: number }): boolean {
  return origin.latitude_deg === 0 && origin.longitude_deg === 0
}
