/** What the page shows now: the moment, the person, the layers, the view of the plan. */
import type { DebriefDocument, Point } from './document'
import type { Shown } from './hash'
import { FIRST_SHOWN, LAYERS, type Layer } from './layers'
import { peopleOf, type Person } from './people'
import { boxOf, type Box } from './polyline'
import { span, SPEEDS } from './replay'
import { cellsOf } from './swept'
import { centred, fit, pan, toPlace, zoom, type Margin, type Size, type View } from './view'

export type Theme = 'light' | 'dark'

/** Round the map: its neat line, the metres along it, and the strip with the scale below. */
export const FRAME: Margin = { left: 30, right: 8, top: 8, bottom: 54 }
const AIR_PX = 18
/** Room for the legend on a plan wide enough to hold it. */
export const LEGEND_PX = 172
const WIDE_PX = 640
const FINDING_TIMES = 1.7
/** Size of the plan on paper, in the units of its own drawing. */
const PRINTED: Size = { width: 760, height: 600 }

export class DebriefState {
  readonly document: DebriefDocument
  readonly people: Person[]
  readonly span: { start_s: number; end_s: number }
  readonly cells: Uint8Array | null
  readonly box: Box

  t_s = $state(0)
  playing = $state(false)
  speed = $state<number>(4)
  who = $state<string | null>(null)
  layers = $state<Layer[]>([...FIRST_SHOWN])
  finding = $state<number | null>(null)
  /** Counts up with each choice of a finding, the same one again too. */
  chosenTimes = $state(0)
  wall = $state(false)
  theme = $state<Theme | null>(null)
  keys = $state(true)
  size = $state<Size>({ width: 600, height: 400 })
  /** The place in the middle and how many times nearer than the whole ground; null: the whole ground. */
  near = $state<{ place: Point; times: number } | null>(null)
  pointer = $state<Point | null>(null)
  printing = $state(false)

  /** How many pixels of the screen one of the plan takes: words on a wall are read from far. */
  readonly magnified = $derived(this.wall ? Math.max(1, this.size.width / 900) : 1)
  readonly sheet = $derived(
    this.printing ? PRINTED : { width: this.size.width / this.magnified, height: this.size.height / this.magnified },
  )
  /** Whether the legend stands inside the plan. */
  readonly legendInside = $derived(!this.printing && !this.wall && this.size.width >= WIDE_PX)
  readonly margin = $derived.by(() => {
    const left = FRAME.left + AIR_PX + (this.legendInside ? LEGEND_PX : 0)
    return { left, right: FRAME.right + AIR_PX, top: FRAME.top + AIR_PX, bottom: FRAME.bottom + AIR_PX }
  })
  readonly whole = $derived.by(() => fit(this.box, this.sheet, this.margin))
  readonly view = $derived.by<View>(() =>
    this.near && !this.printing ? centred(this.near.place, this.whole.scale * this.near.times, this.margin) : this.whole,
  )
  /** The moment that plan and tables speak of; on paper the whole run. */
  readonly at_s = $derived.by(() => (this.printing ? this.span.end_s : this.t_s))
  readonly shownPeople = $derived.by(() =>
    this.who === null ? this.people : this.people.filter((person) => person.id === this.who),
  )

  constructor(document: DebriefDocument, shown: Partial<Shown> = {}) {
    this.document = document
    this.people = peopleOf(document)
    this.span = span(document)
    this.cells = document.swept ? cellsOf(document.swept) : null
    this.box = boxOf([
      ...document.site.boundary_m,
      ...(document.site.entry_m ? [document.site.entry_m] : []),
      ...document.burials.map((burial) => burial.position_m),
    ])
    this.t_s = this.span.end_s
    this.apply(shown)
  }

  /** Take over what an address says. */
  apply(shown: Partial<Shown>): void {
    if (shown.finding !== undefined && shown.finding !== null) this.choose(shown.finding)
    if (shown.t_s !== undefined) this.seek(shown.t_s)
    if (shown.who !== undefined && this.people.some((person) => person.id === shown.who)) this.who = shown.who
    if (shown.layers) this.layers = shown.layers
    if (shown.wall !== undefined) this.wall = shown.wall
    if (shown.theme !== undefined) this.theme = shown.theme
  }

  get shown(): Shown {
    return {
      t_s: this.t_s,
      who: this.who,
      layers: LAYERS.filter((layer) => this.layers.includes(layer)),
      finding: this.finding,
      wall: this.wall,
      theme: this.theme,
    }
  }

  seek(t_s: number): void {
    this.t_s = Math.min(this.span.end_s, Math.max(this.span.start_s, t_s))
  }

  togglePlaying(): void {
    if (!this.playing && this.t_s >= this.span.end_s - 0.5) this.t_s = this.span.start_s
    this.playing = !this.playing
  }

  nextSpeed(): void {
    const index = SPEEDS.findIndex((speed) => speed === this.speed)
    this.speed = SPEEDS[(index + 1) % SPEEDS.length] ?? 1
  }

  toggle(layer: Layer): void {
    this.layers = this.layers.includes(layer)
      ? this.layers.filter((other) => other !== layer)
      : [...this.layers, layer]
  }

  has(layer: Layer): boolean {
    return this.layers.includes(layer)
  }

  /** Everyone, then each person in turn. */
  nextPerson(): void {
    const index = this.people.findIndex((person) => person.id === this.who)
    this.who = this.people[index + 1]?.id ?? null
  }

  /** Select a finding and go to its place and moment. */
  choose(index: number): void {
    const finding = this.document.findings[index]
    if (!finding) return
    this.finding = index
    this.chosenTimes++
    this.playing = false
    if (finding.at_s !== null) this.seek(finding.at_s)
    if (this.who !== null && finding.searcher !== null) this.who = finding.searcher
    if (finding.position_m) this.goTo(finding.position_m)
  }

  /** Step through the findings, round and round. */
  stepFinding(by: 1 | -1): void {
    const count = this.document.findings.length
    if (!count) return
    const from = this.finding ?? (by > 0 ? -1 : 0)
    this.choose((from + by + count) % count)
  }

  /** Go to a place, at least near enough to see who did what there. */
  goTo(place: Point): void {
    this.near = { place, times: Math.max(this.near?.times ?? 1, FINDING_TIMES) }
  }

  zoomBy(factor: number, pixel: Point = this.middle): void {
    this.look(zoom(this.view, this.sheet, pixel, factor, this.whole.scale))
  }

  moveBy(dx: number, dy: number): void {
    this.look(pan(this.view, dx, dy), true)
  }

  showWhole(): void {
    this.near = null
  }

  private get middle(): Point {
    const { left, right, top, bottom } = this.margin
    return [(this.sheet.width + left - right) / 2, (this.sheet.height + top - bottom) / 2]
  }

  private look(view: View, moved = false): void {
    const [east, north] = toPlace(view, this.sheet, this.middle)
    const { west, south, east: eastmost, north: northmost } = this.box
    const place: Point = [clamp(east, west, eastmost), clamp(north, south, northmost)]
    const times = view.scale / this.whole.scale
    this.near = times <= 1.001 && !moved ? null : { place, times }
  }
}

const clamp = (value: number, low: number, high: number): number => Math.min(high, Math.max(low, value))
