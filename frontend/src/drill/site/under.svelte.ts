/** The elevation grid of a drill: kept with it, placed, screened and drawn. */
import { type Said, isOneOf } from '../../words'
import { api, ask, newId } from '../../api/client'
import type { FollowedJob } from '../../api/jobs.svelte'
import { linesOf } from '../../api/lines'
import { askLong, wasCancelled } from '../../api/long'
import { queryOf } from '../../api/query'
import type { SchemaDrillPart, SchemaGroundUnderAnswer, SchemaListedElevationGrid } from '../../api/schema'
import type { DrillState } from '../state.svelte'

const WAIT_MS = 400

/** Faults of a grid with unknown coordinates; the page then asks for its coordinate system. */
const NO_SYSTEM = ['fault.crs_not_told', 'fault.no_crs', 'fault.crs_unreadable']

export class GroundUnder {
  state = $state<'loading' | 'none' | 'working' | 'ready' | 'failed'>('loading')
  faults = $state.raw<readonly Said[]>([])
  /** The job of reading a file. */
  job = $state.raw<FollowedJob | null>(null)
  /** A file refused because its coordinate system is unknown; it can be sent again with one. */
  unplaced = $state.raw<File | null>(null)
  grid = $state.raw<SchemaListedElevationGrid | null>(null)
  told = $state.raw<SchemaGroundUnderAnswer | null>(null)

  private timer: ReturnType<typeof setTimeout> | undefined
  private asked = 0
  private listing: Promise<boolean> = Promise.resolve(true)

  constructor(
    private readonly drill: DrillState,
    private readonly id: string,
  ) {
    void this.load()
  }

  /** Load the drill's grid. */
  async load(): Promise<void> {
    this.listing = this.list()
    if ((await this.listing) && this.grid) await this.look()
  }

  /** Returns whether there was an answer. */
  private async list(): Promise<boolean> {
    try {
      const { items } = await ask(api.GET('/api/grids', { params: { query: { drill_id: this.id, limit: 1 } } }))
      this.grid = items[0] ?? null
      this.faults = []
      this.told = this.grid ? this.told : null
      this.state = this.grid ? 'working' : 'none'
      return true
    } catch (error) {
      this.fail(error)
      return false
    }
  }

  /** The ground has changed: reload once it stops changing. */
  changed(): void {
    if (!this.grid) return
    clearTimeout(this.timer)
    this.timer = setTimeout(() => void this.look(), WAIT_MS)
  }

  /** Keep a file as the grid of this drill, replacing an earlier one. */
  async keep(file: File, crs: string | null): Promise<void> {
    this.state = 'working'
    // A file may arrive before the current grid is known, so wait for that answer first.
    await this.listing
    this.asked += 1
    const before = this.grid
    this.faults = []
    this.unplaced = null
    this.state = 'working'
    const query = queryOf({ file_name: file.name.slice(0, 120), crs })
    try {
      await askLong(`/api/drills/${this.id}/grids/${newId()}?${query}`, { method: 'PUT', body: file }, (job) => (this.job = job))
      if (before) await ask(api.DELETE('/api/grids/{record_id}', { params: { path: { record_id: before.id } } }))
      await this.load()
    } catch (error) {
      if (wasCancelled(error)) this.state = before ? 'ready' : 'none'
      else this.fail(error)
      if (!crs && this.faults.some((fault) => isOneOf(fault, NO_SYSTEM))) this.unplaced = file
      if (before) this.state = 'ready'
      else if (!this.unplaced) this.state = 'none'
    }
  }

  /** Remove the grid; returns a function to restore it. */
  async remove(): Promise<() => Promise<void>> {
    if (!this.grid) return () => Promise.resolve()
    const { deletion_id } = await ask(api.DELETE('/api/grids/{record_id}', { params: { path: { record_id: this.grid.id } } }))
    this.grid = null
    this.told = null
    this.state = 'none'
    return async () => {
      await ask(api.POST('/api/deletions/{deletion_id}/undo', { params: { path: { deletion_id } } }))
      await this.load()
    }
  }

  private async look(): Promise<void> {
    if (!this.grid) return
    const number = ++this.asked
    const path = { grid_id: this.grid.id }
    // Burials do not matter for the ground, and may be outside it for a moment.
    const drill = { ...this.drill.document, burials: [] } as unknown as SchemaDrillPart
    try {
      const told = await ask(api.POST('/api/grids/{grid_id}/ground', { params: { path }, body: { drill } }))
      if (number !== this.asked) return
      this.told = told
      this.faults = []
      this.state = 'ready'
    } catch (error) {
      if (number === this.asked) this.fail(error)
    }
  }

  private fail(error: unknown): void {
    this.state = 'failed'
    this.faults = linesOf(error)
  }
}

const known = new WeakMap<DrillState, GroundUnder>()

/** The state for a drill, shared by the text and the layers. */
export function groundUnder(drill: DrillState, id: string): GroundUnder {
  const under = known.get(drill) ?? new GroundUnder(drill, id)
  known.set(drill, under)
  return under
}
