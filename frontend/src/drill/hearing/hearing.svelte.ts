/** The state of the Hearing part: whose map, of which burials, the map itself, walks along the direction. */
import type { Said } from '../../words'
import { api, ask, askRaw, Problem, Unreachable } from '../../api/client'
import type { SchemaFluxLineAnswer } from '../../api/schema'
import { route } from '../../app/router.svelte'
import type { Point } from '../../plan/point'
import type { Size } from '../../plan/view'
import type { DrillDocument, Searcher, Site } from '../document'
import type { DrillState } from '../state.svelte'
import { onGround, sharesOf, shownOf, silentShare, type Shares, type Shown, type Way } from './field'
import { Latest } from './latest'
import { unpack, type HearingMap, type Lattice } from './packed'

export type Status = 'none' | 'asking' | 'shown' | 'preparing' | 'refused' | 'unreachable' | 'failed'

export type FluxLine = SchemaFluxLineAnswer

interface MapQuestion {
  document: DrillDocument
  receiver: string | null
  height_m: number | null
  lines: number
}

interface FluxQuestion {
  document: string
  from_m: Point
  searcher: string | null
}

/** The size of a place of the map, in pixels. */
const CELL_PX = 4
const [LEAST_LINES, MOST_LINES] = [60, 200]
/** Fewer lines while something is dragged, so that maps with many sets stay fast. */
const [LEAST_DRAGGED, MOST_DRAGGED, SETS_AT_MOST] = [50, 100, 4]

/** How often the text follows a drag, ms. */
const READ_MS = 200

/** How often to check whether maps are ready, ms. */
const READY_MS = 700

const known = new WeakMap<DrillState, Hearing>()

/** The state for a drill, shared by the drawing on the plan and the text beside it. */
export function hearingOf(drill: DrillState): Hearing {
  const found = known.get(drill) ?? new Hearing(drill)
  known.set(drill, found)
  return found
}

export class Hearing {
  map = $state.raw<HearingMap | null>(null)
  /** The map for the text; during a drag it is slightly behind the drawing. */
  read = $state.raw<HearingMap | null>(null)
  private read_ms = 0
  status = $state<Status>('none')
  faults = $state.raw<readonly Said[]>([])
  /** The error of a failed map. */
  trouble = $state.raw<unknown>(null)
  /** The start of the walks along the direction. */
  start = $state.raw<Point | null>(null)
  lines = $state.raw<readonly FluxLine[]>([])
  fluxStatus = $state<Status>('none')
  /** Sets of other drills, on this plan. */
  strangers = $state.raw<readonly { name: string; place: Point }[]>([])

  /** The searcher with the receiver; null for the weakest of the group. */
  readonly receiver: string | null = $derived.by(() => this.chosen('receiver', this.drill.document.searchers))
  /** The chosen burial; null for all. */
  readonly burial: string | null = $derived.by(() => this.chosen('of', this.drill.document.burials))
  /** The height of the set; null: as carried. */
  readonly height_m: number | null = $derived.by(() => {
    const text = route.query.get('height')
    const value = Number(text)
    return text !== null && text !== '' && value >= 0 && value <= 10 ? value : null
  })
  /** The chosen view. */
  readonly way: Way = $derived(route.query.get('look') === 'reads' ? 'reads' : 'heard')
  readonly shown: Shown | null = $derived.by(() => (this.map ? shownOf(this.map, this.burial) : null))
  private readonly site: Site = $derived.by(() => this.drill.document.site)
  /** The places of the map, which stay the same while only the readings change. */
  private readonly places: string = $derived(JSON.stringify(this.read?.lattice ?? null))
  readonly ground: Uint8Array | null = $derived.by(() => {
    const lattice = JSON.parse(this.places) as Lattice | null
    return lattice && onGround(lattice, this.site.boundary_m, this.site.holes_m)
  })
  /** The shares of the ground for each set, in the order of the burials. */
  readonly shares: readonly (Shares & { id: string })[] = $derived.by(() => {
    const { read: map, ground } = this
    return map && ground ? map.sets.map((set) => ({ id: set.id, ...sharesOf(set, map.searchers, ground) })) : []
  })
  readonly silent: number = $derived.by(() => {
    const { read: map, ground } = this
    return map && ground ? silentShare(shownOf(map, this.burial), ground) : 0
  })
  /** The searcher whose receiver the map shows, once known. */
  readonly listener: Searcher | null = $derived.by(
    () => this.drill.document.searchers.find(({ id }) => id === (this.receiver ?? this.read?.searcher)) ?? null,
  )

  private asked: MapQuestion | null = null
  private readonly maps: Latest<MapQuestion, HearingMap>
  private readonly walks: Latest<FluxQuestion, { lines: FluxLine[] }>

  constructor(private readonly drill: DrillState) {
    this.maps = new Latest<MapQuestion, HearingMap>({
      ask: async ({ document: drill, receiver: searcher, height_m, lines }, signal) => {
        const body = JSON.stringify({ drill, searcher, height_m, lines })
        const headers = { 'content-type': 'application/json' }
        const answer = await askRaw('/api/hearing-map', { method: 'POST', body, headers, signal })
        return unpack(await answer.arrayBuffer())
      },
      answered: (map) => this.answered(map),
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

  /**
   * Request the map to show now. All sets are requested each time: how low a receiver is carried depends on all of them, so moving one changes the readings of the others near it.
   */
  update(): void {
    const { document, dragging, view } = this.drill
    const fine = finest(view.sheet)
    const lines = dragging ? Math.min(fine, coarser(document.burials.length)) : fine
    const wanted = { document, receiver: this.receiver, height_m: this.height_m, lines }
    const asked = this.asked
    if (asked && sameDrill(asked, wanted) && (dragging || asked.lines === lines)) return
    this.asked = wanted
    if (this.status !== 'preparing') this.status = this.map ? 'shown' : 'asking'
    this.maps.want(wanted, asked !== null && !sameBase(asked, wanted))
  }

  /** Walk along the direction from a place; null removes the walks. */
  walkFrom(place: Point | null): void {
    this.start = place && [Math.round(place[0] * 10) / 10, Math.round(place[1] * 10) / 10]
    if (!place) this.lines = []
    this.walk()
  }

  /** Walk again with the current drill. */
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
    clearTimeout(this.waiting)
    this.waiting = undefined
    this.asked = null
    this.maps.stop()
    this.walks.stop()
  }

  again(): void {
    this.asked = null
    this.update()
  }

  private waiting: ReturnType<typeof setTimeout> | undefined

  /** Check again until the service has compiled its loops; the first maps after an installation are coarse. */
  private readonly look = async (): Promise<void> => {
    const ready = await ask(api.GET('/api/ready')).then(({ hearing_map }) => hearing_map, () => false)
    if (this.waiting === undefined) return
    this.waiting = ready ? undefined : setTimeout(() => void this.look(), READY_MS)
    if (ready) this.again()
  }

  private answered(map: HearingMap): void {
    this.map = map
    const now_ms = performance.now()
    if (!this.drill.dragging || now_ms - this.read_ms >= READ_MS) [this.read, this.read_ms] = [map, now_ms]
    this.faults = []
    this.status = map.plain ? 'preparing' : 'shown'
    if (map.plain) this.waiting ??= setTimeout(() => void this.look(), READY_MS)
  }

  /** Whether to repeat the request automatically. */
  private failed(error: unknown): boolean {
    if (error instanceof Problem && error.status === 503) {
      this.status = 'preparing'
      return true
    }
    this.status = error instanceof Unreachable ? 'unreachable' : error instanceof Problem && error.status === 422 ? 'refused' : 'failed'
    this.faults = error instanceof Problem ? error.faults : []
    this.trouble = error
    if (!(error instanceof Unreachable)) this.asked = null
    return error instanceof Unreachable
  }

  private chosen(name: string, among: readonly { id: string }[]): string | null {
    const id = route.query.get(name)
    return id !== null && among.some((one) => one.id === id) ? id : null
  }
}

function finest({ width, height }: Size): number {
  return Math.min(MOST_LINES, Math.max(LEAST_LINES, Math.ceil(Math.max(width, height) / CELL_PX / 20) * 20))
}

function coarser(sets: number): number {
  const share = Math.sqrt(Math.min(1, SETS_AT_MOST / Math.max(1, sets)))
  return Math.max(LEAST_DRAGGED, Math.round((MOST_DRAGGED * share) / 10) * 10)
}

/** Whether two requests differ only in the burials. Unchanged parts are the same objects. */
function sameBase(a: MapQuestion, b: MapQuestion): boolean {
  const keys = ['site', 'searchers', 'conditions'] as const
  return a.receiver === b.receiver && a.height_m === b.height_m && keys.every((key) => a.document[key] === b.document[key])
}

function sameDrill(a: MapQuestion, b: MapQuestion): boolean {
  return sameBase(a, b) && a.document.burials === b.document.burials
}
