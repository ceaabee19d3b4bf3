/** The demo as it is made in the records: a job in the address, so that a reload goes on following it. */
import { api, ask, newId } from '../api/client'
import { FollowedJob } from '../api/jobs.svelte'
import { route } from '../app/router.svelte'
import { tellTrouble } from '../records/steps.svelte'

export class Demo {
  job = $state.raw<FollowedJob | null>(null)

  constructor() {
    const earlier = route.query.get('demo')
    if (earlier) this.job = FollowedJob.again(earlier)
  }

  /** The run, once it is there. */
  get run(): string | null {
    const result = this.job?.state === 'done' ? (this.job.result as { run_id?: string } | null) : null
    return result?.run_id ?? null
  }

  /** Follow a demo that is being made already: `coldfield demo` begins with it. */
  async join(): Promise<void> {
    if (this.job !== null) return
    const jobs = await ask(api.GET('/api/jobs')).catch(() => [])
    const begun = jobs.find((one) => one.work === 'demo' && (one.state === 'waiting' || one.state === 'running'))
    if (begun && this.job === null) this.job = FollowedJob.again(begun.id)
  }

  begin(): void {
    const id = newId()
    route.set({ demo: id }, { instead: true })
    this.job = FollowedJob.start({ work: 'demo' }, id)
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
