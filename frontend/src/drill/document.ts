/** A drill as the pages hold it: the drill file with every key that may be left out filled in. */
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
  declination_deg: number
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
}

export interface Receiver {
  coaxial_range_m: number | null
  threshold_na_per_m: number | null
  vertical_range_m: number | null
  reference_field_at_10m_ua_per_m: number
  antennas: number
  antenna_factors: number[] | null
  turning: boolean
  marking: boolean
}

export type SkillName = 'novice' | 'practised' | 'expert'

export interface Searcher {
  id: string
  name: string
  skill: SkillName | Record<string, unknown>
  receiver: Receiver
  probe_length_m: number | null
  shovel: boolean
}

export interface Conditions {
  noise_rise_db: number
  snow_density_kg_m3: number
  travel: 'on foot' | 'on ski' | 'on snowshoe'
  strip_width_m: number | null
  burial_to_alarm_s: number
}

export interface DrillDocument {
  format: 'coldfield-drill/1'
  name: string
  site: Site
  burials: Burial[]
  searchers: Searcher[]
  conditions: Conditions
}

/** A drill file as it is stored: keys with a default may be missing. */
export interface DrillFile {
  format: 'coldfield-drill/1'
  name: string
  site: Pick<Site, 'origin'> & { boundary_m: number[][]; entry_m: number[] } & object
  burials: (Pick<Burial, 'id' | 'depth_m' | 'transmitter'> & { position_m: number[] })[]
  searchers: (Pick<Searcher, 'id' | 'name'> & { receiver: object })[]
  conditions?: object
}

const SITE = { holes_m: [], slope_deg: 0, aspect_deg: 0, declination_deg: 0, last_seen_m: null, anchors: [] }
const TRANSMITTER: Transmitter = { field_at_10m_ua_per_m: 1, period_s: 1, pulse_s: 0.09, phase_s: 0 }
const RECEIVER: Receiver = {
  coaxial_range_m: null,
  threshold_na_per_m: null,
  vertical_range_m: null,
  reference_field_at_10m_ua_per_m: 1,
  antennas: 3,
  antenna_factors: null,
  turning: false,
  marking: true,
}
const CONDITIONS: Conditions = {
  noise_rise_db: 0,
  snow_density_kg_m3: 400,
  travel: 'on foot',
  strip_width_m: null,
  burial_to_alarm_s: 60,
}

/** Fill in the defaults of a stored drill file; they are those of its schema. */
export function complete(file: DrillFile): DrillDocument {
  const burials = file.burials.map((burial) => ({
    antenna: null,
    body_azimuth_deg: null,
    outline: 'person',
    ...burial,
    transmitter: burial.transmitter && { ...TRANSMITTER, ...burial.transmitter },
  }))
  const searchers = file.searchers.map((searcher) => {
    const { probe, ...rest } = { skill: 'practised', shovel: true, ...searcher } as typeof searcher & { probe?: boolean | null }
    return { probe_length_m: probe === false ? null : 2.4, ...rest, receiver: { ...RECEIVER, ...searcher.receiver } }
  })
  return {
    format: file.format,
    name: file.name,
    site: { ...SITE, ...file.site },
    burials,
    searchers,
    conditions: { ...CONDITIONS, ...file.conditions },
  } as unknown as DrillDocument
}
