/** All labels on the plan of a drill, placed together so that none covers another, a mark, or a line of something else. */
import { placeLabels, type Line } from '../../plan/labels'
import type { Point } from '../../plan/point'
import { linesOfEqualHeight } from '../../plan/slopelines'
import { say } from '../../words'
import { wholeMetres } from '../../words/format'
import { LEVELS_M } from '../hearing/field'
import { hearingOf } from '../hearing/hearing.svelte'
import { joined, piecesAt, piecesAtAll } from '../hearing/lines'
import { TURN_PX } from '../hidden/burials'
import { rehearsalOf } from '../rehearsal.svelte'
import { placeAt } from '../rehearsal/replay'
import { markedSearchers } from '../searchers'
import { pictureUnder } from '../site/picture.svelte'
import { groundUnder } from '../site/under.svelte'
import type { DrillState } from '../state.svelte'
import { chances } from '../strips/chances'
import { stripsOf } from '../strips.svelte'
import { fixedOf } from './names'
import { above, below, closed, mark, ofLine, ofPlace, wordOf, type Scene, type Word } from './wanted'

/** The most labelled contours; only those with room are labelled. */
const MOST_HEIGHTS = 14
/** The zoom buttons, at the top right. */
const BUTTONS = { width: 150, height: 50 }

export class PlanWords {
  /** Things that move during a drag: burials, places, lanes, people. */
  private readonly near: Scene = $derived.by(() => {
    const scene: Scene = { wanted: [], taken: [], lines: [] }
    this.ground(scene)
    this.burials(scene)
    this.lanes(scene)
    this.hearing(scene)
    this.rehearsal(scene)
    return scene
  })
  /** Lines of equal reading and edges of hearing, in metres, except while something is dragged. */
  private readonly heard = $derived.by(() => {
    const { drill } = this
    const { shown, way } = hearingOf(drill)
    if (!shown || !drill.layers.has('hearing') || drill.dragging) return { edges: [], readings: [] }
    const edges = shown.sets.map((set) => ({ id: set.id, lines: joined(piecesAt(shown.lattice, set.margin, 0)) }))
    if (way !== 'reads' || !drill.layers.has('readings')) return { edges, readings: [] }
    const keep = Uint8Array.from(shown.margin, (over) => (over >= 0 ? 1 : 0))
    const levels = piecesAtAll(shown.lattice, shown.lowest, LEVELS_M.map((level) => level * 100), keep)
    return { edges, readings: levels.map((pieces, n) => ({ level: LEVELS_M[n] ?? 0, lines: joined(pieces) })) }
  })
  /** Contours of the grid and lines of the even slope, in metres. */
  private readonly relief = $derived.by(() => {
    const { drill } = this
    const told = drill.layers.has('relief') ? groundUnder(drill, this.id).told : null
    if (told) return told.contours.lines.flatMap(({ elevation_m, lines_m }) => lines_m.map((line) => ({ elevation_m, line: line as Point[] })))
    if (!drill.layers.has('ground')) return []
    return linesOfEqualHeight(drill.document.site, drill.view.whole.scale).map((line) => ({ elevation_m: null, line: line as Point[] }))
  })
  readonly placed: readonly Word[] = $derived.by(() => {
    const { drill } = this
    const [wanted, lines] = [[...this.near.wanted], [...this.near.lines]]
    const px = (place: Point): Point => drill.view.toPixel(place)
    this.ofHearing(wanted, lines)
    if (!drill.dragging) {
      const five = (groundUnder(drill, this.id).told?.contours.step_m ?? 1) * 5
      const heights = this.relief.map(({ elevation_m, line }, n) => ({ elevation_m, n, pixels: line.map(px) }))
      for (const { n, pixels } of heights) lines.push({ points: pixels, of: `height ${n}`, fine: true })
      const longest = heights.filter(({ elevation_m }) => elevation_m !== null).sort((a, b) => Number(isOf(b.elevation_m, five)) - Number(isOf(a.elevation_m, five)) || b.pixels.length - a.pixels.length)
      for (const { elevation_m, n, pixels } of longest.slice(0, MOST_HEIGHTS)) wanted.push(ofLine('line', `height ${n}`, wholeMetres(elevation_m ?? 0), pixels))
    }
    return placeLabels(wanted, this.near.taken, drill.view.bounds, lines).flatMap((placed) => {
      const one = wanted.find(({ key }) => key === placed.key)
      return one ? [wordOf(placed, one)] : []
    })
  })

  constructor(
    private readonly drill: DrillState,
    private readonly id: string,
  ) {}

  private ground({ wanted, taken, lines }: Scene): void {
    const { drill } = this
    const { site } = drill.document
    const px = (place: Point): Point => drill.view.toPixel(place)
    const sheet = drill.view.sheet
    taken.push({ x: sheet.width - BUTTONS.width, y: 0, ...BUTTONS })
    if (!drill.view.fixed) taken.push(drill.legend)
    for (const ring of [site.boundary_m, ...site.holes_m]) {
      lines.push({ points: closed(ring.map(px)) })
      if (drill.part === 'ground') taken.push(...ring.map((place) => mark(px(place), 7)))
    }
    const picture = pictureUnder(drill, this.id)
    if (picture.laying && drill.part === 'ground') taken.push(...picture.points.map(({ position_m }) => mark(px(position_m), 11)))
    for (const { name, words, at } of fixedOf(drill.document, drill.view)) {
      taken.push(mark(at, 8))
      wanted.push(ofPlace('fixed', `fixed ${name}`, words, at, name === 'entry' ? below(at) : above(at)))
    }
  }

  private burials({ wanted, taken, lines }: Scene): void {
    const { drill } = this
    if (!drill.layers.has('burials')) return
    const words = drill.document.burials.map((burial) => {
      const at = drill.view.toPixel(burial.position_m)
      const key = `burial ${burial.id}`
      taken.push(mark(at, 8))
      if (burial.antenna && burial.transmitter) {
        const [way, reach] = [(burial.antenna.azimuth_deg * Math.PI) / 180, drill.selected === burial.id ? TURN_PX + 8 : 19]
        const [dx, dy] = [Math.sin(way) * reach, -Math.cos(way) * reach]
        lines.push({ points: [[at[0] - dx, at[1] - dy], [at[0] + dx, at[1] + dy]] })
      }
      return ofPlace('burial', key, burial.id, at)
    })
    wanted.unshift(...words)
  }

  private lanes({ wanted, taken, lines }: Scene): void {
    const { drill } = this
    const strips = stripsOf(drill)
    const px = (place: readonly number[]): Point => drill.view.toPixel([place[0] ?? 0, place[1] ?? 0])
    if (drill.layers.has('lanes')) {
      const lanes = strips.lanes.value?.lanes ?? []
      const marked = markedSearchers(drill.document, lanes.map((lane) => lane.searcher))
      for (const lane of lanes) {
        const key = `lane ${lane.searcher}`
        const at = px(lane.line_m[0] ?? [0, 0])
        lines.push({ points: lane.line_m.map(px), of: key })
        taken.push(mark(at, 5))
        wanted.push(ofPlace('person', key, marked.get(lane.searcher)?.initials ?? '', at))
      }
    }
    const heard = strips.chance.value?.detection ?? null
    if (heard && heard.least_probability <= 0.999 && (drill.part === 'strips' || drill.layers.has('chance'))) {
      const at = px(heard.least_heard_m)
      taken.push(mark(at, 8))
      wanted.push(ofPlace('alert', 'least', `${say('strips.leastMark')} ${chances(heard.least_probability)}`, at))
    }
  }

  private hearing({ wanted, taken, lines }: Scene): void {
    const { drill } = this
    const hearing = hearingOf(drill)
    const px = (place: readonly number[]): Point => drill.view.toPixel([place[0] ?? 0, place[1] ?? 0])
    if (drill.layers.has('flux')) {
      for (const { line_m, burial } of hearing.lines) if ((hearing.burial ?? burial) === burial) lines.push({ points: line_m.map(px) })
      if (hearing.start) {
        taken.push(mark(px(hearing.start), 6))
        wanted.push(ofPlace('person', 'from', say('hearing.from'), px(hearing.start)))
      }
    }
    for (const { name, place } of hearing.strangers) {
      taken.push(mark(px(place), 7))
      wanted.push(ofPlace('person', `stranger ${name}`, name, px(place)))
    }
  }

  /** Edges of hearing and lines of equal reading have labels on them. */
  private ofHearing(wanted: Scene['wanted'], lines: Line[]): void {
    const { drill } = this
    const px = (place: Point): Point => drill.view.toPixel(place)
    for (const { id, lines: edges } of this.heard.edges) {
      const key = `edge ${id}`
      const pixels = edges.map((line) => line.map(px))
      for (const points of pixels) lines.push({ points, of: key })
      const longest = pixels.reduce<Point[]>((best, line) => (line.length > best.length ? line : best), [])
      wanted.push(ofLine('person', key, say('hearing.edgeOf', { id }), longest, 60))
    }
    for (const { level, lines: found } of this.heard.readings)
      found.forEach((line, n) => {
        const key = `reading ${level} ${n}`
        const points = line.map(px)
        lines.push({ points, of: key, fine: true })
        if (line.length > 12) wanted.push(ofLine('line', key, String(level), points))
      })
  }

  private rehearsal({ wanted, taken }: Scene): void {
    const { drill } = this
    const rehearsal = rehearsalOf(drill, this.id)
    const shown = rehearsal.which !== null && drill.part === 'rehearsal' ? rehearsal.trace.value : null
    if (!shown) return
    const at_s = rehearsal.at_s
    const px = (place: readonly number[]): Point => drill.view.toPixel([place[0] ?? 0, place[1] ?? 0])
    const marked = markedSearchers(rehearsal.shown?.made.drill ?? drill.document)
    for (const { id, position_m, airway_s, probe_strike_s } of shown.burials) {
      const anywhere = rehearsal.shown?.made.anywhere ?? false
      if (anywhere) {
        taken.push(mark(px(position_m), 7))
        wanted.push(ofPlace('burial', `trace burial ${id}`, id, px(position_m)))
      }
      const past = (s: number | null): boolean => s !== null && s <= at_s
      const state = past(airway_s) ? say('burials.stateClear') : past(probe_strike_s) ? say('burials.stateStruck') : ''
      if (state) wanted.push(ofPlace('done', `state ${id}`, state, px(position_m)))
    }
    for (const trace of shown.traces) {
      const at = px(placeAt(trace, at_s))
      taken.push(mark(at, 6))
      wanted.push(ofPlace('person', `person ${trace.searcher}`, marked.get(trace.searcher)?.initials ?? '', at))
    }
  }
}

const isOf = (elevation_m: number | null, step: number): boolean =>
  elevation_m !== null && Math.abs(elevation_m / step - Math.round(elevation_m / step)) < 1e-6

const known = new WeakMap<DrillState, PlanWords>()

export function planWords(drill: DrillState, id: string): PlanWords {
  const found = known.get(drill) ?? new PlanWords(drill, id)
  known.set(drill, found)
  return found
}
