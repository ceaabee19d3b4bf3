/** What the page shows now: the moment, the person, the layers, the view of the plan. */
import type { DebriefDocument, Point } from './document'
import type { Shown } from './hash'
import { FIRST_SHOWN, LAYERS, type Layer } from './layers'
import { peopleOf, type Person } from './people'
import { boxOf, type Box } from './polyline'
import { span, SPEEDS } from './replay'
import { cellsOf } from './swept'
import { fit, zoom, type Size, type View } from './view'

export type Theme = 'light' | 'dark'

const MARGIN_PX = 44
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
  wall = $state(false)
  theme = $state<Theme | null>(null)
  keys = $state(true)
  size = $state<Size>({ width: 600, height: 400 })
  /** null: the whole ground. */
  view = $state<View | null>(null)
  pointer = $state<Point | null>(null)
  printing = $state(false)

  readonly sheet = $derived(this.printing ? PRINTED : this.size)
  readonly whole = $derived.by(() => fit(this.box, this.sheet, MARGIN_PX))
  readonly now = $derived(this.printing ? this.whole : (this.view ?? this.whole))
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

  goTo(place: Point): void {
    this.view = { east_m: place[0], north_m: place[1], scale: Math.max(this.now.scale, this.whole.scale * 1.8) }
  }

  zoomBy(factor: number, pixel?: Point): void {
    const middle: Point = [this.sheet.width / 2, this.sheet.height / 2]
    const view = zoom(this.now, this.sheet, pixel ?? middle, factor, this.whole.scale)
    this.view = view.scale <= this.whole.scale * 1.001 ? null : view
  }
}
