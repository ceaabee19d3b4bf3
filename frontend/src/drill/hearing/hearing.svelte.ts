/** What the Hearing part knows: whose map, of which burials, the map itself, walks along the direction. */
import { api, ask, askRaw, Problem, Unreachable } from '../../api/client'
import type { SchemaFluxLineAnswer } from '../../api/schema'
import { route } from '../../app/router.svelte'
import type { Point } from '../../plan/point'
import type { Searcher } from '../document'
import type { DrillState } from '../state.svelte'
import { onGround, sharesOf, shownOf, silentShare, type Shares, type Shown } from './field'
import { Latest } from './latest'
import { merged, unpack, type HearingMap } from './packed'

export type Status = 'none' | 'asking' | 'shown' | 'preparing' | 'refused' | 'unreachable' | 'failed'

export type FluxLine = SchemaFluxLineAnswer

interface MapQuestion {
  body: string
  /** What a map depends on besides the burials. */
  base: string
  /** Each burial as text, by id. */
  burials: Readonly<Record<string, string>>
  only: readonly string[] | null
}

interface FluxQuestion {
  document: string
  from_m: Point
  searcher: string | null
}

/** A place of the map takes about so many pixels. */
const CELL_PX = 4
const [LEAST_LINES, MOST_LINES] = [60, 200]

/** How often to look whether maps are ready, ms. */
const READY_MS = 700
let mapsReady = false

const known = new WeakMap<DrillState, Hearing>()

/** The one of this drill: what draws on the plan and what stands beside it share it. */
export function hearingOf(drill: DrillState): Hearing {
  const found = known.get(drill) ?? new Hearing(drill)
  known.set(drill, found)
  return found
}

export class Hearing {
  map = $state.raw<HearingMap | null>(null)
  status = $state<Status>('none')
  faults = $state.raw<string[]>([])
  /** Where walks along the direction begin. */
  start = $state.raw<Point | null>(null)
  lines = $state.raw<readonly FluxLine[]>([])
  fluxStatus = $state<Status>('none')
  /** Sets of other drills, on this plan. */
  strangers = $state.raw<readonly { name: string; place: Point }[]>([])

  /** Whose receiver; null: the weakest of the group. */
  readonly receiver: string | null = $derived.by(() => this.chosen('receiver', this.drill.document.searchers))
  /** Which burial; null: all of them. */
  readonly burial: string | null = $derived.by(() => this.chosen('of', this.drill.document.burials))
  /** How high the set is held; null: as it is carried. */
  readonly height_m: number | null = $derived.by(() => {
    const text = route.query.get('height')
    const value = Number(text)
    return text !== null && text !== '' && value >= 0 && value <= 10 ? value : null
  })
  readonly shown: Shown | null = $derived.by(() => (this.map ? shownOf(this.map, this.burial) : null))
  readonly ground: Uint8Array | null = $derived.by(() => {
    const { boundary_m, holes_m } = this.drill.document.site
    return this.map ? onGround(this.map.lattice, boundary_m, holes_m) : null
  })
  /** For each set its shares of the ground, in the order of the burials. */
  readonly shares: readonly (Shares & { id: string })[] = $derived.by(() => {
    const { map, ground } = this
    return map && ground ? map.sets.map((set) => ({ id: set.id, ...sharesOf(set, map.searchers, ground) })) : []
  })
  readonly silent: number = $derived.by(() => (this.shown && this.ground ? silentShare(this.shown, this.ground) : 0))
  /** Whose receiver the map is of, once it is known. */
  readonly listener: Searcher | null = $derived.by(
    () => this.drill.document.searchers.find(({ id }) => id === (this.receiver ?? this.map?.searcher)) ?? null,
  )

  private base = ''
  private mapped: Readonly<Record<string, string>> = {}
  private whole = false
  private readonly maps: Latest<MapQuestion, HearingMap>
  private readonly walks: Latest<FluxQuestion, { lines: FluxLine[] }>

  constructor(private readonly drill: DrillState) {
    this.maps = new Latest<MapQuestion, HearingMap>({
      ask: async ({ body }, signal) => {
        await this.ready(signal)
        const headers = { 'content-type': 'application/json' }
        const answer = await askRaw('/api/hearing-map', { method: 'POST', body, headers, signal })
        return unpack(await answer.arrayBuffer())
      },
      answered: (map, question) => this.answered(map, question),
      failed: (error) => this.failed(error),
    })
    this.walks = new Latest<FluxQuestion, { lines: FluxLine[] }>({
      ask: ({ document, from_m, searcher }, signal) =>
        ask(api.POST('/api/flux-line', { body: { drill: JSON.parse(document) as never, from_m, searcher }, signal })),
      answered: ({ lines }) => {
        this.lines = lines
        this.fluxStatus = 'shown'
      },
      failed: (error) => {
        this.fluxStatus = error instanceof Problem && error.status === 422 ? 'refused' : 'failed'
        return false
      },
    })
  }

  /** Ask for what the map now has to show: the whole of it at rest, the moved set alone while it is dragged. */
  update(): void {
    const { document, dragging, view } = this.drill
    const longer = Math.max(view.sheet.width, view.sheet.height)
    const lines = Math.min(MOST_LINES, Math.max(LEAST_LINES, Math.ceil(longer / CELL_PX / 20) * 20))
    const base = JSON.stringify([document.site, document.searchers, document.conditions, this.receiver, this.height_m, lines])
    const burials = Object.fromEntries(document.burials.map((one) => [one.id, JSON.stringify(one)]))
    const moved = Object.keys(burials).filter((id) => this.mapped[id] !== burials[id])
    const same = base === this.base && Object.keys(this.mapped).every((id) => id in burials)
    if (same && !moved.length && (this.whole || dragging)) return
    const only = dragging && this.map && same ? moved.filter((id) => document.burials.find((b) => b.id === id)?.transmitter) : null
    const body = JSON.stringify({ drill: document, searcher: this.receiver, height_m: this.height_m, lines, burials: only })
    if (this.status !== 'preparing') this.status = this.map ? 'shown' : 'asking'
    this.maps.want({ body, base, burials, only }, base !== this.base)
  }

  /** Walk along the direction from a place; null: from nowhere. */
  walkFrom(place: Point | null): void {
    this.start = place && [Math.round(place[0] * 10) / 10, Math.round(place[1] * 10) / 10]
    if (!place) this.lines = []
    this.walk()
  }

  /** Walk anew, as the drill now is. */
  walk(): void {
    if (!this.start) {
      this.walks.stop()
      this.fluxStatus = 'none'
      return
    }
    this.fluxStatus = 'asking'
    this.walks.want({ document: JSON.stringify(this.drill.document), from_m: this.start, searcher: this.receiver })
  }

  stop(): void {
    this.maps.stop()
    this.walks.stop()
  }

  again(): void {
    this.base = ''
    this.update()
  }

  /** Wait until the service is ready for maps: after an installation its first start takes a while. */
  private async ready(signal: AbortSignal): Promise<void> {
    while (!mapsReady && !signal.aborted) {
      mapsReady = (await ask(api.GET('/api/ready', { signal }))).hearing_map
      if (mapsReady) return
      this.status = 'preparing'
      await new Promise((done) => setTimeout(done, READY_MS))
    }
  }

  private answered(map: HearingMap, { base, burials, only }: MapQuestion): void {
    const ids = this.drill.document.burials.map(({ id }) => id)
    this.map = only ? merged(this.map, map, ids) : map
    this.base = base
    this.mapped = burials
    this.whole = only === null
    this.faults = []
    this.status = 'shown'
  }

  /** Whether to ask again by oneself. */
  private failed(error: unknown): boolean {
    if (error instanceof Problem && error.status === 503) {
      this.status = 'preparing'
      return true
    }
    this.status = error instanceof Unreachable ? 'unreachable' : error instanceof Problem && error.status === 422 ? 'refused' : 'failed'
    this.faults = error instanceof Problem ? error.faults : []
    return error instanceof Unreachable
  }

  private chosen(name: string, among: readonly { id: string }[]): string | null {
    const id = route.query.get(name)
    return id !== null && among.some((one) => one.id === id) ? id : null
  }
}
