/** The labels on the plan and their places, except the tags of walking people. */
import { say } from '../../words'
import type { Burial, DebriefDocument, Point } from '../document'
import { squareMetres, wholeMetres } from '../../words/format'
import { about, around, beside, placeLabels, upon, type Label, type Line, type Placed, type Rectangle } from '../../plan/labels'
import type { Layer } from '../layers'
import { boxOf } from '../../plan/polyline'

export type Kind = 'burial' | 'finding' | 'gap' | 'fixed' | 'reading' | 'height'

export interface Word extends Placed {
  kind: Kind
  words: string
}

export interface Sheet {
  px: (place: Point) => Point
  bounds: Rectangle
  taken: Rectangle[]
  has: (layer: Layer) => boolean
  /** The text for each burial, in the order of the burials. */
  states: readonly string[]
  /** The walked lines of the people who are shown, m. */
  walked: readonly (readonly Point[])[]
}

const HEIGHT = 18

interface Wanted extends Label {
  kind: Kind
  words: string
}

export function wordsOf(document: DebriefDocument, sheet: Sheet): Word[] {
  const wanted = [
    ...(sheet.has('burials') ? document.burials.map((burial, i) => burialWord(burial, sheet.states[i] ?? burial.id, sheet)) : []),
    ...findings(document, sheet),
    ...(sheet.has('gaps') ? gaps(document, sheet) : []),
    ...fixed(document, sheet),
    ...(sheet.has('hearing') ? hearing(document, sheet) : []),
    ...(sheet.has('ground') ? heights(document, sheet) : []),
  ]
  const marks = document.burials.map((burial) => around(sheet.px(burial.position_m), 8))
  const byKey = new Map(wanted.map((label) => [label.key, label]))
  return placeLabels(wanted, [...sheet.taken, ...marks], sheet.bounds, linesOf(document, sheet)).flatMap((placed) => {
    const label = byKey.get(placed.key)
    return label ? [{ ...placed, kind: label.kind, words: label.words }] : []
  })
}

/** Points of a walk closer together than this count as one for placing labels, px. */
const STEP_PX = 4

function thinned(points: readonly Point[]): Point[] {
  const kept = points.slice(0, 1)
  for (const point of points) {
    const [x = 0, y = 0] = kept.at(-1) ?? point
    if (Math.hypot(point[0] - x, point[1] - y) >= STEP_PX || point === points.at(-1)) kept.push(point)
  }
  return kept
}

/** Lines that only their own labels may cover: edges of the ground and of hearing, contours, and walks. */
function linesOf({ site, hearing }: DebriefDocument, { px, has, walked }: Sheet): Line[] {
  const line = (points: readonly Point[], of?: string): Line => ({ points: points.map(px), ...(of ? { of } : {}) })
  const rings = [site.boundary_m, ...site.holes_m].map((ring) => line([...ring, ...ring.slice(0, 1)]))
  const edges = has('hearing') ? (hearing?.audible ?? []).flatMap(({ lines_m }, i) => lines_m.map((one) => line(one, `reading edge ${i}`))) : []
  const readings = has('hearing') ? (hearing?.contours ?? []).flatMap(({ lines_m }, i) => lines_m.map((one) => line(one, `reading ${i}`))) : []
  const contours = has('ground') ? site.contours.flatMap(({ lines_m }, i) => lines_m.map((one) => line(one, `height ${i}`))) : []
  const walks = has('tracks') ? walked.map((points) => ({ points: thinned(points.map(px)), walked: true })) : []
  return [...rings, ...edges, ...walks, ...[...readings, ...contours].map((one) => ({ ...one, fine: true }))]
}

function heights({ site }: DebriefDocument, { px }: Sheet): Wanted[] {
  return site.contours.map(({ elevation_m, lines_m }, i) =>
    word('height', String(i), wholeMetres(elevation_m), (w, h) => along(lines_m, px, w, h), false),
  )
}

/** Width of a text in pixels, from the average width of the plan's type. */
export function widthOf(words: string, bold = false): number {
  return words.length * (bold ? 8 : 7.4) + 4
}

function word(
  kind: Kind,
  key: string,
  words: string,
  where: (width: number, height: number) => Point[],
  must: boolean,
): Wanted {
  const width = kind === 'finding' ? 22 : widthOf(words, kind !== 'fixed')
  const height = kind === 'finding' ? 20 : HEIGHT
  return { kind, key: `${kind} ${key}`, words, width, height, tries: where(width, height), must }
}

function burialWord(burial: Burial, words: string, { px }: Sheet): Wanted {
  return word('burial', burial.id, words, (w, h) => [...beside(px(burial.position_m), w, h), ...about(px(burial.position_m), w, h)], true)
}

export function burialState({ id, has_set, struck_s, clear_s }: Burial, t_s: number): string {
  if (clear_s !== null && clear_s <= t_s) return say('plan.clear', { id })
  if (struck_s !== null && struck_s <= t_s) return say('plan.struck', { id })
  return has_set ? say('plan.hidden', { id }) : say('plan.noSet', { id })
}

function findings(document: DebriefDocument, { px }: Sheet): Wanted[] {
  return document.findings.flatMap(({ position_m }, i) =>
    position_m ? [word('finding', String(i), String(i + 1), (w, h) => [...beside(px(position_m), w, h), ...about(px(position_m), w, h)], true)] : [],
  )
}

/** Corners beside a place, and a little farther away on all sides: labels without a line to their place stay near it. */
function near(place: Point, width: number, height: number): Point[] {
  return [...beside(place, width, height), ...about(place, width, height).slice(0, 24)]
}

function gaps(document: DebriefDocument, { px }: Sheet): Wanted[] {
  return document.gaps.flatMap((gap, i) => {
    if (!gap.needed) return []
    const words = gap.exceeds_accuracy ? say('plan.gap', { area: squareMetres(gap.area_m2) }) : say('plan.gapDoubt')
    return [word('gap', String(i), words, (w, h) => [...upon(px(gap.position_m), w, h), ...near(px(gap.position_m), w, h)], false)]
  })
}

function fixed({ site }: DebriefDocument, { px }: Sheet): Wanted[] {
  const names: [string, Point | null][] = [
    [say('plan.entry'), site.entry_m],
    [say('plan.lastSeen'), site.last_seen_m],
    ...site.anchors.map(({ name, position_m }): [string, Point] => [name, position_m]),
  ]
  const named = names.flatMap(([name, place], i) =>
    place && name ? [word('fixed', `${i}`, name, (w, h) => near(px(place), w, h), false)] : [],
  )
  const holes = site.holes_m.map((hole, i) => {
    const { west, east, south, north } = boxOf(hole)
    const middle: Point = [(west + east) / 2, (south + north) / 2]
    return word('fixed', `hole ${i}`, say('plan.hole'), (w, h) => upon(px(middle), w, h).slice(0, 1), false)
  })
  return [...named, ...holes]
}

function hearing(document: DebriefDocument, { px }: Sheet): Wanted[] {
  const edges = (document.hearing?.audible ?? []).map((edge, i) =>
    word('reading', `edge ${i}`, say('plan.edge', { id: edge.burial }), (w, h) => along(edge.lines_m, px, w, h), false),
  )
  const contours = (document.hearing?.contours ?? []).map((contour, i) => {
    const words = say('plan.reading', { id: contour.burial, reading: wholeMetres(contour.reading_m) })
    return word('reading', `${i}`, words, (w, h) => along(contour.lines_m, px, w, h), false)
  })
  return [...edges, ...contours]
}

/** Places on a line for its label, spread over its longest part. */
function along(lines: readonly Point[][], px: (place: Point) => Point, width: number, height: number): Point[] {
  const longest = lines.reduce<Point[]>((best, line) => (line.length > best.length ? line : best), [])
  const TRIES = 24
  const step = Math.max(1, Math.floor(longest.length / TRIES))
  return longest
    .filter((_, i) => i % step === 0)
    .map((place): Point => {
      const [x, y] = px(place)
      return [x - width / 2, y - height / 2]
    })
}
