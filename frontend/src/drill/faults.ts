/** Faults of a drill file, with their places in the words of the page: 'Burial A, depth: must be ...'. */
import { isVerbatim, type Key, type Said, say, verbatim } from '../words'
import { metres } from '../words/format'
import { distance_m, inside } from '../plan/polyline'
import type { Point } from '../plan/point'
import type { DrillDocument } from './document'
import { azimuthTo } from './hidden/burials'
import { nearestEdge } from './site/rings'

const KEYS: Record<string, Key> = {
  position_m: 'fault.place',
  depth_m: 'hidden.depth',
  antenna: 'hidden.antenna',
  transmitter: 'hidden.set',
  id: 'burial.name',
  name: 'burial.name',
  receiver: 'group.range',
  probe_length_m: 'group.probeLength',
}

/** How far a place is outside the ground, and what to do: '16 m west of the ground: drag it inside'; null if it is inside. */
export function offGround(place: Point, { boundary_m, holes_m }: DrillDocument['site']): string | null {
  if (inside(place, [boundary_m])) return holes_m.some((hole) => inside(place, [hole])) ? say('fault.leftOut') : null
  const edge = nearestEdge(boundary_m, place)
  const distance = metres(Math.max(0.1, distance_m(place, edge)))
  const way = Math.round(azimuthTo(edge, place, 1) / 45) % 8
  return say('fault.offGround', { distance, way: say(`wind.${way}` as Key) })
}

/** A fault with its path in words. */
export function faultInWords(fault: Said, document: DrillDocument): Said {
  const own = typeof fault !== 'string' && (fault.code === 'fault.outside_boundary' || fault.code === 'fault.in_hole') ? ownWords(fault, document) : null
  if (own) return verbatim(own)
  if (typeof fault === 'string') return lineInWords(fault, document)
  if (isVerbatim(fault)) return verbatim(lineInWords(String(fault.values?.['text'] ?? ''), document))
  const [first, ...rest] = fault.place ?? []
  // The record's field with the drill means nothing to a reader.
  const inner = first === 'document' || first === 'drill' ? rest : (fault.place ?? [])
  const place = inner.map((part) => (typeof part === 'string' ? pathInWords(part, document) : part))
  return { ...fault, place }
}

/** A burial outside the ground, described from the current plan. */
function ownWords({ place = [] }: Exclude<Said, string>, { burials, site }: DrillDocument): string | null {
  const path = place.filter((part): part is string => typeof part === 'string').join('.')
  const burial = burials[Number(/burials\[(\d+)\]/.exec(path)?.[1] ?? NaN)]
  const words = burial && offGround(burial.position_m, site)
  return words ? `${say('burial.title', { id: burial.id })}: ${words}` : null
}

function pathInWords(path: string, document: DrillDocument): string {
  const inner = path.replace(/^document\.?/, '')
  return /^(burials|searchers|site)\b/.test(inner) ? placeInWords(inner, document) : path
}

function lineInWords(fault: string, document: DrillDocument): string {
  return fault
    .replace(/^(?:document(?:\.|: ))?((?:burials|searchers|site)[\w.[\]]*): /, (_, path: string) => `${placeInWords(path, document)}: `)
    .replace(/site\.holes_m\[\d+\]/g, (path) => placeInWords(path, document))
}

function placeInWords(path: string, { burials, searchers, site }: DrillDocument): string {
  const [, list = '', index = '', rest = ''] = /^(?:site\.)?(\w+)(?:\[(\d+)\])?\.?(.*)$/.exec(path) ?? []
  const n = Number(index)
  const key = KEYS[rest.split('.')[0] ?? '']
  const what = key ? `, ${say(key)}` : ''
  if (list === 'burials') return say('burial.title', { id: burials[n]?.id ?? '' }) + what
  if (list === 'searchers') return (searchers[n]?.name ?? '') + what
  if (list === 'boundary_m') return say('site.boundary')
  if (list === 'holes_m') return index ? say('site.hole', { n: n + 1 }) : say('site.addHole')
  if (list === 'anchors') return site.anchors[n]?.name ?? say('site.anchors')
  if (list === 'entry_m') return say('plan.entry')
  return list === 'last_seen_m' ? say('plan.lastSeen') : path
}
