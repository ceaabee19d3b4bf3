/** The place and direction of a set in words. */
import { metres, plain } from '../words/format'
import { currentLocale, known, say } from '../words'
import { numberFormat } from '../words/numbers'
import { axisOf } from './figures'
import type { Burial, Place } from './items'

/** Directions for pacing, clockwise from north. */
export const WINDS = [0, 45, 90, 135, 180, 225, 270, 315] as const

export const windName = (deg: number): string => {
  const key = `wind.${((Math.round(deg / 45) % 8) + 8) % 8}`
  return known(key) ? say(key) : ''
}

/** A distance as read from the tape. */
const taped = (m: number | undefined): string => say('unit.m', { n: m === undefined ? '' : numberFormat(currentLocale(), m % 1 ? 1 : 0).format(m) })

export function placeWords(place: Place | null, burial: Pick<Burial, 'position_m'>): string {
  if (place?.way === 'tape') {
    const [a, b] = place.anchors
    const side = say(place.side === 'left' ? 'hide.left' : 'hide.right')
    return say('place.tape', { a: a?.anchor ?? '', am: taped(a?.distance_m), b: b?.anchor ?? '', bm: taped(b?.distance_m), side })
  }
  if (place?.way === 'paced') return say('place.paced', { n: plain(place.paces), start: place.start, wind: windName(place.towards_deg) })
  if (place?.way === 'words') return place.words
  const at = burial.position_m
  if (!at) return say('place.notTold')
  return say('place.plan', { east: metres(at[0]), north: metres(at[1]) })
}

/** 'level, north to south', 'upright': the same words as on the plan. */
export function lieWords(azimuth_deg: number | null, tilt_deg: number | null): string {
  if (tilt_deg !== null && Math.abs(tilt_deg) > 60) return say('burial.upright')
  if (azimuth_deg === null) return say('hide.directionNot')
  const key = `axis.${axisOf(azimuth_deg)}`
  return known(key) ? say('burial.level', { axis: say(key) }) : ''
}
