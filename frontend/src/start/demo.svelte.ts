/** Making the demo in the records; the job is in the address, so that it can be followed after a reload. */
import { api, ask, newId } from '../api/client'
import { FollowedJob } from '../api/jobs.svelte'
import { route } from '../app/router.svelte'
import { tellTrouble } from '../records/steps.svelte'

const ORDER = { work: 'demo' } as const

export class Demo {
  job = $state.raw<FollowedJob | null>(null)

  constructor() {
    const earlier = route.query.get('demo')
    // Ordered once more under the same id: the page may have been reloaded before the first order was sent.
    if (earlier) this.job = FollowedJob.start(ORDER, earlier)
  }

  /** The demo's run, once it exists. */
  get run(): string | null {
    const result = this.job?.state === 'done' ? (this.job.result as { run_id?: string } | null) : null
    return result?.run_id ?? null
  }

  /** Follow a demo that is already being made, as after `coldfield demo`. */
  async join(): Promise<void> {
    if (this.job !== null) return
    const jobs = await ask(api.GET('/api/jobs')).catch(() => [])
    const begun = jobs.find((one) => one.work === 'demo' && (one.state === 'waiting' || one.state === 'running'))
    if (begun && this.job === null) this.job = FollowedJob.again(begun.id)
  }

  begin(): void {
    const id = newId()
    route.set({ demo: id }, { instead: true })
    this.job = FollowedJob.start(ORDER, id)
  }

  async stop(): Promise<void> {
    try {
      await this.job?.cancel()
      this.forget()
    } catch (error) {
      tellTrouble(error)
    }
  }

  forget(): void {
    this.job?.leave()
    this.job = null
    route.set({ demo: null }, { instead: true })
  }
}
