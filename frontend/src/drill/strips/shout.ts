/** Lanes in short words for shouting across the snow. */
import { distance_m } from '../../plan/polyline'
import type { Point } from '../../plan/point'
import { say } from '../../words'
import { wholeMetres } from '../../words/format'
import type { Site } from '../document'
import { azimuthTo, clockwise, pointWords } from '../hidden/burials'

/** How far a heading may be from the fall line or the contour and still be named after it, degrees. */
const NEAR_DEG = 15
/** Slopes below this have no visible fall line, degrees. */
const SLOPE_DEG = 5

interface Plan {
  heading_deg: number
  sharing: string
  strip_width_m: number
  lanes: readonly unknown[]
}

/** 'Three abreast, 46 m apart, up and down the fall line.' */
export function shout({ heading_deg, sharing, strip_width_m, lanes }: Plan, site: Site): string {
  const told = { n: lanes.length, width: wholeMetres(strip_width_m), way: wayWords(heading_deg, site) }
  return say(sharing === 'line abreast' ? 'strips.shout.abreast' : 'strips.shout.sectors', told)
}

export function wayWords(heading_deg: number, { slope_deg, aspect_deg }: Pick<Site, 'slope_deg' | 'aspect_deg'>): string {
  const off = Math.abs(((clockwise(heading_deg - aspect_deg) + 90) % 180) - 90)
  if (slope_deg >= SLOPE_DEG && off <= NEAR_DEG) return say('strips.way.up')
  if (slope_deg >= SLOPE_DEG && off >= 90 - NEAR_DEG) return say('strips.way.across')
  return say('strips.way.towards', { way: pointWords(heading_deg) })
}

/** '26 m north-west of the entry'. */
export function fromEntry(start: Point, entry: Point): string {
  const distance = distance_m(start, entry)
  if (distance < 1) return say('strips.atEntry')
  return say('strips.fromEntry', { distance: wholeMetres(distance), way: pointWords(azimuthTo(entry, start, 1)) })
}
