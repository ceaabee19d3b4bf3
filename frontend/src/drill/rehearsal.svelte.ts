/** A drill's rehearsal: the job, its order, the drill kept as 'before', and one run on the plan. */
import { api, ask } from '../api/client'
import { FollowedJob } from '../api/jobs.svelte'
import { same } from '../api/same'
import type { SchemaDrillPart, SchemaRehearsalAnswer, SchemaTraceAnswer } from '../api/schema'
import { allOf, type Named } from '../coaching/coach.svelte'
import { Asked } from './asked.svelte'
import { complete, type DrillDocument } from './document'
import type { DrillState } from './state.svelte'
import { sent } from './strips.svelte'

export interface Wanted {
  runs: number
  worth: boolean
  anywhere: boolean
  /** Whose own figures are used: null the settings, '' everybody on record, else a course. */
  own: string | null
}

interface Made extends Wanted {
  seed: number
  drill: DrillDocument
  before: DrillDocument | null
}

interface Remembered {
  job: string | null
  before: SchemaDrillPart | null
}

/** The same runs and draws as for the settled minutes at the plan, so both give the same result. */
const [SEED, RUNS] = [1, 2000]

export class Rehearsal {
  job = $state.raw<FollowedJob | null>(null)
  /** The order of the job; null while unknown. */
  made = $state.raw<Made | null>(null)
  before = $state.raw<DrillDocument | null>(null)
  wanted = $state<Wanted>({ runs: RUNS, worth: true, anywhere: false, own: null })
  /** The courses on record, once there is a run to learn from; null before. */
  learnable = $state.raw<readonly Named[] | null>(null)
  /** The service no longer knows the job that this browser remembers. */
  gone = $state(false)
  /** The last result of this page, shown until the next arrives. */
  private last = $state.raw<{ result: SchemaRehearsalAnswer; made: Made } | null>(null)

  readonly trace = new Asked<SchemaTraceAnswer>()
  /** The example run shown on the plan. */
  which = $state<string | null>(null)
  /** The moment shown, s since the alarm. */
  at_s = $state(0)
  playing = $state(false)

  constructor(private readonly id: string) {
    const kept = this.remembered()
    this.before = kept.before && complete(kept.before)
  }

  get shown(): { result: SchemaRehearsalAnswer; made: Made } | null {
    const done = this.job?.state === 'done' && this.made
    return done ? { result: this.job?.result as SchemaRehearsalAnswer, made: done } : this.last
  }

  /** Whether the last order belongs to the current drill. */
  of(document: DrillDocument): boolean {
    return this.made === null || same(played(this.made.drill), played(document))
  }

  get running(): boolean {
    return this.job !== null && !this.job.ended
  }

  /** Whether the result belongs to the current drill. */
  current(document: DrillDocument): boolean {
    return this.shown !== null && same(played(this.shown.made.drill), played(document))
  }

  /** Start, with the kept earlier drill for comparison if it differs. */
  start(document: DrillDocument): void {
    const shown = this.shown
    if (shown) this.last = shown
    this.hide()
    const before = this.before && !same(played(this.before), played(document)) ? this.before : null
    const wanted = $state.snapshot(this.wanted)
    const made: Made = { ...wanted, seed: SEED, drill: document, before }
    // Compute the minutes first; what helps most takes many times as long and follows.
    const first = this.order({ ...made, worth: false })
    if (wanted.worth) void this.thenWorth(first, made)
  }

  private order(made: Made): FollowedJob {
    const { runs, worth, anywhere, own, seed, drill, before } = made
    const order = { work: 'rehearse', drill: sent(drill), seed, runs, worth, anywhere, ...(before ? { before: sent(before) } : {}), ...(own === null ? {} : { own_of: own }) } as const
    const job = FollowedJob.start(order as never)
    this.made = made
    this.gone = false
    this.job = job
    this.remember()
    return job
  }

  private async thenWorth(first: FollowedJob, made: Made): Promise<void> {
    await first.end()
    if (this.job !== first || first.state !== 'done') return
    this.last = { result: first.result as SchemaRehearsalAnswer, made: { ...made, worth: false } }
    this.order(made)
  }

  /** Check whether there are runs whose own figures could replace the settings. */
  async lookForRuns(): Promise<void> {
    const runs = await ask(api.GET('/api/runs', { params: { query: { limit: 1 } } }))
    this.learnable = runs.items.length ? await allOf('courses') : null
  }

  /** Continue with the job of an earlier visit, from the address or this browser's storage. */
  async resume(named: string | null): Promise<void> {
    const id = named ?? this.remembered().job
    if (!id || this.job) return
    try {
      const told = await ask(api.GET('/api/jobs/{job_id}', { params: { path: { job_id: id }, query: { with_order: true } } }))
      if (this.job || told.order?.work !== 'rehearse') return
      const { drill, before, runs, worth, anywhere, seed, own_of } = told.order
      this.wanted.own = own_of ?? null
      this.made = { drill: complete(drill), before: before ? complete(before) : null, runs: runs ?? RUNS, worth: worth ?? false, anywhere: anywhere ?? false, own: own_of ?? null, seed: seed ?? SEED }
      this.job = FollowedJob.again(id)
      this.remember()
    } catch {
      this.gone = true
    }
  }

  async cancel(): Promise<void> {
    await this.job?.cancel()
  }

  keep(): void {
    this.before = this.shown?.made.drill ?? null
    this.remember()
  }

  drop(): void {
    this.before = null
    this.remember()
  }

  /** Show one of the example runs on the plan. */
  show(which: string): void {
    const shown = this.shown
    const run = shown?.result.telling_runs[which]
    if (!shown || run === undefined) return
    this.which = which
    this.playing = false
    this.at_s = 0
    const { drill, seed, anywhere } = shown.made
    const body = { drill: (shown.result.own_drill as SchemaDrillPart | undefined) ?? sent(drill), run, seed, anywhere }
    this.trace.ask(`${this.job?.id} ${run}`, (signal) => ask(api.POST('/api/rehearsal-trace', { body, signal })), 0)
  }

  hide(): void {
    this.which = null
    this.playing = false
    this.trace.clear()
  }

  private remember(): void {
    const kept: Remembered = { job: this.job?.id ?? null, before: this.before && sent(this.before) }
    try {
      localStorage.setItem(`coldfield.rehearsal.${this.id}`, JSON.stringify(kept))
    } catch {
      // If the browser cannot store it, only the address has the job.
    }
  }

  private remembered(): Remembered {
    try {
      return (JSON.parse(localStorage.getItem(`coldfield.rehearsal.${this.id}`) ?? 'null') as Remembered | null) ?? { job: null, before: null }
    } catch {
      return { job: null, before: null }
    }
  }
}

/** The parts of a drill that a rehearsal depends on. */
export function played(document: DrillDocument): object {
  const { site, burials, searchers, conditions } = document
  const { boundary_m, holes_m, entry_m, slope_deg, aspect_deg, last_seen_m } = site
  const group = searchers.map(({ id, skill, receiver, probe_length_m, shovel }) => ({ id, skill, receiver, probe_length_m, shovel }))
  return { site: { boundary_m, holes_m, entry_m, slope_deg, aspect_deg, last_seen_m }, burials, searchers: group, conditions }
}

const kept = new WeakMap<DrillState, Rehearsal>()

export function rehearsalOf(drill: DrillState, id: string): Rehearsal {
  const found = kept.get(drill) ?? new Rehearsal(id)
  kept.set(drill, found)
  return found
}
