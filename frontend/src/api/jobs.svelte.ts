/** Long jobs: started under an id made here, followed, cancelled, found again after a reload. */
import type { Said } from '../words'
import { api, ask, newId, Problem } from './client'
import { linesOf } from './lines'
import type { SchemaJobTold } from './schema'

export type Order = NonNullable<Parameters<typeof startOrder>[1]>
type State = SchemaJobTold['state'] | 'starting'

const LOOK_EVERY_MS = 700
/** The bar is full only when the job has ended: the last step is followed by a summary. */
const MOST_BEFORE_THE_END = 0.99

async function startOrder(id: string, order: NonNullable<import('./schema').operations['start_job_api_jobs__job_id__put']['requestBody']>['content']['application/json']) {
  return ask(api.PUT('/api/jobs/{job_id}', { params: { path: { job_id: id } }, body: order }))
}

export class FollowedJob {
  state = $state<State>('starting')
  /** Steps of all stages. */
  done = $state(0)
  total = $state(0)
  stage = $state('')
  stageDone = $state(0)
  stageTotal = $state(0)
  /** What the job waits for; null if it begins at once. */
  waitsFor = $state<SchemaJobTold['waits_for']>(null)
  faults = $state<readonly Said[]>([])
  result = $state.raw<unknown>(null)
  /** Whether the last request had no answer. */
  private unclear = $state(false)

  private stopped = false
  private over: Promise<void> = Promise.resolve()

  private constructor(readonly id: string) {}

  static start(order: Order, id = newId()): FollowedJob {
    const job = new FollowedJob(id)
    job.over = job.watch(() => startOrder(id, order))
    return job
  }

  /** Follow a job that was started earlier, for instance before a reload. */
  static again(id: string): FollowedJob {
    const job = new FollowedJob(id)
    job.over = job.watch(() => job.look())
    return job
  }

  /** Wait until the job has ended or is no longer followed. */
  async end(): Promise<void> {
    await this.over
  }

  /** The share of all work that is done, 0 to 1; undefined before anything is known. */
  get share(): number | undefined {
    if (!this.total) return undefined
    return this.ended ? this.done / this.total : Math.min(this.done / this.total, MOST_BEFORE_THE_END)
  }

  get ended(): boolean {
    return this.state === 'done' || this.state === 'failed' || this.state === 'cancelled'
  }

  /** The message if the last request had no answer. */
  get doubt(): 'job.notBegun' | 'job.unclear' | null {
    return !this.unclear || this.ended ? null : this.state === 'starting' ? 'job.notBegun' : 'job.unclear'
  }

  async cancel(): Promise<void> {
    const begun = this.doubt !== 'job.notBegun'
    if (!begun) {
      this.leave()
      this.state = 'cancelled'
    }
    const cancelled = ask(api.POST('/api/jobs/{job_id}/cancel', { params: { path: { job_id: this.id } } }))
    // Without an answer it is not known whether the order arrived.
    await (begun ? cancelled : cancelled.catch(() => undefined))
  }

  /** Stop following; the work goes on. */
  leave(): void {
    this.stopped = true
  }

  private look(): Promise<SchemaJobTold> {
    return ask(api.GET('/api/jobs/{job_id}', { params: { path: { job_id: this.id } } }))
  }

  private async watch(first: () => Promise<SchemaJobTold>): Promise<void> {
    let next = first
    while (!this.stopped) {
      try {
        const told = await next()
        if (this.stopped) return
        this.take(told)
        next = () => this.look()
      } catch (error) {
        if (error instanceof Problem && !error.passing) return this.fail(error)
        // The service was not reached. The order has its own id, so a repeat does not start it twice.
        this.unclear = true
      }
      if (this.ended) return
      await new Promise((done) => setTimeout(done, LOOK_EVERY_MS))
    }
  }

  private take(told: SchemaJobTold): void {
    this.unclear = false
    this.done = told.done
    this.total = told.total
    this.stage = told.stage
    this.stageDone = told.stage_done
    this.stageTotal = told.stage_total
    this.waitsFor = told.waits_for
    this.faults = told.faults
    this.result = told.result ?? null
    this.state = told.state
  }

  private fail(problem: Problem): void {
    this.faults = linesOf(problem)
    this.state = 'failed'
  }
}
