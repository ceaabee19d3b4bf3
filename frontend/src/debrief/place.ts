/** A sentence about a place on the plan. */
import { say } from '../words'
import type { DebriefDocument, Point } from './document'
import { duration, metres, wholeMetres } from '../words/format'
import type { Person } from './people'
import { distance_m, inside, nearestOnSegment } from '../plan/polyline'
import { sweptAt } from './swept'

/** A track passes a place if it comes this near, in metres. */
const NEAR_M = 6
const NEAR_BURIAL_M = 30

export function describePlace(
  document: DebriefDocument,
  people: readonly Person[],
  cells: Uint8Array | null,
  place: Point,
): string {
  const { site } = document
  const onGround = inside(place, [site.boundary_m, ...site.holes_m])
  return [
    where(place),
    ...(onGround ? [] : [say('place.outside')]),
    nearestBurial(document, place),
    reading(document, place),
    heard(document, place),
    onGround ? ground(document, cells, place) : '',
    walkedBy(people, place),
  ]
    .filter(Boolean)
    .join(' ')
}

function where([east, north]: Point): string {
  return say('place.atSW', {
    east: wholeMetres(Math.abs(east)),
    ew: say(east < -0.5 ? 'place.west' : 'place.east'),
    north: wholeMetres(Math.abs(north)),
    ns: say(north < -0.5 ? 'place.southward' : 'place.northward'),
  })
}

function nearestBurial(document: DebriefDocument, place: Point): string {
  const sorted = [...document.burials].sort(
    (a, b) => distance_m(a.position_m, place) - distance_m(b.position_m, place),
  )
  const nearest = sorted[0]
  if (!nearest) return ''
  const away = distance_m(nearest.position_m, place)
  if (away > NEAR_BURIAL_M) return ''
  const values = { id: nearest.id, distance: metres(away) }
  return nearest.depth_m === null
    ? say('place.burialNoDepth', values)
    : say('place.burial', { ...values, depth: metres(nearest.depth_m) })
}

/** The smallest reading line of any burial that encloses the place. */
function reading(document: DebriefDocument, place: Point): string {
  const round = (document.hearing?.contours ?? [])
    .filter((contour) => inside(place, contour.lines_m.filter(isClosed)))
    .sort((a, b) => a.reading_m - b.reading_m)[0]
  return round ? say('place.reads', { reading: wholeMetres(round.reading_m), id: round.burial }) : ''
}

function heard(document: DebriefDocument, place: Point): string {
  const told = (document.hearing?.audible ?? []).filter((edge) => edge.lines_m.length && edge.lines_m.every(isClosed))
  const here = told.filter((edge) => inside(place, edge.lines_m)).map((edge) => edge.burial)
  if (here.length) return say('place.heard', { ids: here.join(', ') })
  return told.length ? say('place.notHeard', { ids: told.map((edge) => edge.burial).join(', ') }) : ''
}

function ground(document: DebriefDocument, cells: Uint8Array | null, place: Point): string {
  const swept = document.swept && cells ? sweptAt(document.swept, cells, place) : null
  return swept === null ? '' : say(swept ? 'place.swept' : 'place.unswept')
}

/** Who came nearest, at what distance and when. */
export function nearestPass(
  people: readonly Person[],
  place: Point,
): { person: Person; away_m: number; t_s: number } | null {
  let best: { person: Person; away_m: number; t_s: number } | null = null
  for (const person of people) {
    for (const { position_m, t_s } of person.drawn) {
      for (let i = 0; i + 1 < position_m.length; i++) {
        const [a, b] = [position_m[i], position_m[i + 1]]
        const [ta, tb] = [t_s[i], t_s[i + 1]]
        if (!a || !b || ta === undefined || tb === undefined) continue
        const near = nearestOnSegment(place, a, b)
        const away_m = distance_m(place, near.place)
        if (!best || away_m < best.away_m) best = { person, away_m, t_s: ta + near.share * (tb - ta) }
      }
    }
  }
  return best
}

function walkedBy(people: readonly Person[], place: Point): string {
  const pass = nearestPass(people, place)
  if (!pass || pass.away_m > NEAR_M) return ''
  const values = { name: pass.person.name, time: duration(pass.t_s) }
  return pass.away_m < 1
    ? say('place.walkedOver', values)
    : say('place.walked', { ...values, distance: metres(pass.away_m) })
}

function isClosed(line: readonly Point[]): boolean {
  const [first, last] = [line[0], line.at(-1)]
  return !!first && !!last && line.length > 3 && distance_m(first, last) < 0.05
}
