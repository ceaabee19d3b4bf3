/** What the page shows now: the moment, the person, the layers, the view of the plan. */
import type { Laid } from '../plan/laid'
import { FRAME, PlanView, PRINTED } from '../plan/planview.svelte'
import { boxOf } from '../plan/polyline'
import type { Size } from '../plan/view'
import type { DebriefDocument } from './document'
import type { Shown } from './hash'
import { FIRST_SHOWN, LAYERS, type Layer } from './layers'
import { hasTracks, peopleOf, type Person } from './people'
import { span, SPEEDS } from './replay'
import { textSize } from '../theme/textsize.svelte'
import { cellsOf } from './swept'

export type Theme = 'light' | 'dark'

/** Width of the legend on a plan that is wide enough for it. */
const LEGEND_PX = 172
/** The height of its rows: large enough for a finger on touch screens. */
const LEGEND_ROW_PX = typeof matchMedia !== 'undefined' && matchMedia('(pointer: coarse)').matches ? 44 : 28
const WIDE_PX = 640

/** Text of 14 px on the plan is enlarged to 20 px to be readable across a room. */
const WALL_TIMES = 20 / 14

export class DebriefState {
  readonly document: DebriefDocument
  readonly people: Person[]
  /** Whether there is any track; without one there is no plan and no replay. */
  readonly tracked: boolean
  /** Whether anything has a moment; observations alone may have none. */
  readonly timed: boolean
  readonly span: { start_s: number; end_s: number }
  readonly cells: Uint8Array | null
  readonly plan: PlanView

  t_s = $state(0)
  playing = $state(false)
  speed = $state<number>(4)
  who = $state<string | null>(null)
  layers = $state<Layer[]>([...FIRST_SHOWN])
  finding = $state<number | null>(null)
  /** Increases with each choice of a finding, even the same one. */
  chosenTimes = $state(0)
  /** The picture of the ground under the plan. */
  under = $state.raw<Laid | null>(null)
  private onWall = $state(false)
  theme = $state<Theme | null>(null)
  keys = $state(true)
  printing = $state(false)

  /** The size of the legend inside the plan. */
  readonly legend = $derived.by<Size>(() => ({
    width: LEGEND_PX * textSize.times,
    height: LAYERS.length * Math.max(LEGEND_ROW_PX, 19.6 * textSize.times) + 8,
  }))
  /** Whether the legend is inside the plan. */
  readonly legendInside = $derived.by(() => {
    const { width, height } = this.plan.size
    return !this.printing && !this.wall && width >= WIDE_PX * textSize.times && height >= this.legend.height + FRAME.bottom + 24
  })
  /** The moment for plan and tables; on paper the end of the run. */
  readonly at_s = $derived.by(() => (this.printing ? this.span.end_s : this.t_s))
  readonly shownPeople = $derived.by(() =>
    this.who === null ? this.people : this.people.filter((person) => person.id === this.who),
  )

  constructor(document: DebriefDocument, shown: Partial<Shown> = {}) {
    this.document = document
    this.people = peopleOf(document)
    this.tracked = hasTracks(document)
    this.timed = this.tracked || document.splits.length > 0
    this.span = span(document)
    this.cells = document.swept ? cellsOf(document.swept) : null
    const places = [
      ...document.site.boundary_m,
      ...(document.site.entry_m ? [document.site.entry_m] : []),
      ...document.burials.map((burial) => burial.position_m),
    ]
    this.plan = new PlanView(boxOf(places), {
      magnified: (size) => (this.wall ? Math.max(size.width / 900, size.width < 600 ? 1 : WALL_TIMES) : 1),
      indent: () => (this.legendInside ? this.legend.width : 0),
      fixed: () => (this.printing ? PRINTED : null),
    })
    this.t_s = this.span.end_s
    this.apply(shown)
  }

  get wall(): boolean {
    return this.onWall
  }

  /** The wall view opens at the start of the run, unless a finding is chosen. */
  set wall(on: boolean) {
    if (on && !this.onWall && this.finding === null) {
      this.playing = false
      this.t_s = this.span.start_s
    }
    this.onWall = on
  }

  /** Apply the state in an address. */
  apply(shown: Partial<Shown>): void {
    if (shown.wall !== undefined) this.wall = shown.wall
    if (shown.finding !== undefined && shown.finding !== null) this.choose(shown.finding)
    if (shown.t_s !== undefined) this.seek(shown.t_s)
    if (shown.who !== undefined && this.people.some((person) => person.id === shown.who)) this.who = shown.who
    if (shown.layers) this.layers = shown.layers
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

  /** The picture as shown now; fills of the ground above it are transparent. */
  get pictured(): Laid | null {
    return this.has('ground') ? this.under : null
  }

  has(layer: Layer): boolean {
    return this.layers.includes(layer)
  }

  /** Select everyone, then each person in turn. */
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
    if (finding.position_m) this.plan.goTo(finding.position_m)
  }

  /** Step through the findings in a cycle. */
  stepFinding(by: 1 | -1): void {
    const count = this.document.findings.length
    if (!count) return
    const from = this.finding ?? (by > 0 ? -1 : 0)
    this.choose((from + by + count) % count)
  }
}
