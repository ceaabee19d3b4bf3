/** The picture under a drill's plan: kept with it, placed by its file or by known points, with an opacity. */
import { say, type Said } from '../../words'
import { api, ask, newId } from '../../api/client'
import type { FollowedJob } from '../../api/jobs.svelte'
import { linesOf } from '../../api/lines'
import { askLong, wasCancelled } from '../../api/long'
import { queryOf } from '../../api/query'
import type { SchemaListedPicture } from '../../api/schema'
import type { Point } from '../../plan/point'
import type { DrillState } from '../state.svelte'
import { tenths } from '../hidden/burials'

export interface Known {
  pixel: Point
  position_m: Point
}

/** The number of known points needed to place a picture. */
export const [FEWEST, MOST] = [2, 4]

const WAIT_MS = 300

export class PictureUnder {
  state = $state<'loading' | 'none' | 'working' | 'ready'>('loading')
  faults = $state.raw<readonly Said[]>([])
  /** The job of reading a file. */
  job = $state.raw<FollowedJob | null>(null)
  kept = $state.raw<SchemaListedPicture | null>(null)
  /** The current known points and the opacity of the picture, sent once they stop changing. */
  points = $state.raw<readonly Known[]>([])
  shown = $state(0.7)
  /** A point pressed in the picture whose place on the plan is still missing. */
  half = $state.raw<Point | null>(null)
  /** Whether the known points are being edited; they are then shown on the plan. */
  laying = $state(false)

  private timer: ReturnType<typeof setTimeout> | undefined
  private sending: Promise<void> = Promise.resolve()

  constructor(private readonly id: string) {
    void this.load()
  }

  get address(): string | null {
    return this.kept && `/api/pictures/${this.kept.id}/file`
  }

  async load(): Promise<void> {
    try {
      const { items } = await ask(api.GET('/api/pictures', { params: { query: { drill_id: this.id, limit: 1 } } }))
      this.take(items[0] ?? null)
    } catch (error) {
      this.faults = linesOf(error)
      this.state = this.kept ? 'ready' : 'none'
    }
  }

  /** Keep a file as the picture under this drill, replacing an earlier one. */
  async keep(file: File): Promise<void> {
    this.state = 'working'
    this.faults = []
    const before = this.kept
    const query = queryOf({ file_name: file.name.slice(-120) })
    try {
      await askLong(`/api/drills/${this.id}/pictures/${newId()}?${query}`, { method: 'PUT', body: file }, (job) => (this.job = job))
      if (before) await ask(api.DELETE('/api/pictures/{record_id}', { params: { path: { record_id: before.id } } }))
      await this.load()
      this.laying = this.kept !== null && this.kept.matrix === null
    } catch (error) {
      if (!wasCancelled(error)) this.faults = linesOf(error)
      this.state = before ? 'ready' : 'none'
    }
  }

  /** Remove the picture; returns a function to restore it. */
  async remove(): Promise<() => Promise<void>> {
    if (!this.kept) return () => Promise.resolve()
    // Discard changes that were not sent yet.
    clearTimeout(this.timer)
    await this.sending
    const { deletion_id } = await ask(api.DELETE('/api/pictures/{record_id}', { params: { path: { record_id: this.kept.id } } }))
    this.take(null)
    return async () => {
      await ask(api.POST('/api/deletions/{deletion_id}/undo', { params: { path: { deletion_id } } }))
      await this.load()
    }
  }

  show(strongly: number): void {
    this.shown = strongly
    this.tell()
  }

  /** A point in the picture was pressed; the next press on the plan gives its place. */
  begin(drill: DrillState, pixel: Point): void {
    if (this.points.length >= MOST) return
    this.half = tenths(pixel)
    drill.tool = {
      name: 'known',
      words: say('photo.nowPlan', { n: this.points.length + 1 }),
      press: (place) => {
        drill.tool = null
        if (this.half) this.set([...this.points, { pixel: this.half, position_m: tenths(place) }])
      },
      back: () => {
        drill.tool = null
        this.half = null
      },
    }
  }

  /** Set the known points; they place the picture once there are two. */
  set(points: readonly Known[]): void {
    this.half = null
    this.points = points
    if (points.length !== 1) this.tell()
  }

  private tell(): void {
    clearTimeout(this.timer)
    this.timer = setTimeout(() => (this.sending = this.sending.then(() => this.send())), WAIT_MS)
  }

  private async send(): Promise<void> {
    const kept = this.kept
    if (!kept) return
    const points = this.points.length < FEWEST ? [] : this.points.map(({ pixel, position_m }) => ({ pixel: [...pixel], position_m: [...position_m] }))
    try {
      const params = { path: { record_id: kept.id }, header: { 'If-Match': `"${kept.version}"` } }
      const told = await ask(api.PUT('/api/pictures/{record_id}', { params, body: { points, shown: this.shown } as never }))
      if (this.kept?.id === told.id) this.kept = told
      this.faults = []
    } catch (error) {
      this.faults = linesOf(error)
    }
  }

  private take(kept: SchemaListedPicture | null): void {
    this.kept = kept
    this.points = (kept?.points ?? []).map(({ pixel, position_m }) => ({ pixel: [pixel[0] ?? 0, pixel[1] ?? 0], position_m: [position_m[0] ?? 0, position_m[1] ?? 0] }))
    this.shown = kept?.shown ?? 0.7
    this.half = null
    this.state = kept ? 'ready' : 'none'
    this.faults = []
  }
}

const known = new WeakMap<DrillState, PictureUnder>()

/** The state for a drill, shared by the text and the layers. */
export function pictureUnder(drill: DrillState, id: string): PictureUnder {
  const under = known.get(drill) ?? new PictureUnder(id)
  known.set(drill, under)
  return under
}
