/** Making a debrief: started, followed, found again after a reload, cancelled. */
import type { Said } from '../words'
import { FollowedJob } from '../api/jobs.svelte'

const name = (runId: string): string => `coldfield.job.debrief.${runId}`

function remembered(runId: string): string | null {
  try {
    return sessionStorage.getItem(name(runId))
  } catch {
    return null
  }
}

function remember(runId: string, jobId: string | null): void {
  try {
    if (jobId === null) sessionStorage.removeItem(name(runId))
    else sessionStorage.setItem(name(runId), jobId)
  } catch {
    // It cannot be found again after a reload; the debrief is kept anyway.
  }
}

export class Debriefing {
  job = $state.raw<FollowedJob | null>(null)

  constructor(
    private readonly runId: string,
    private readonly made: () => unknown,
  ) {
    const known = remembered(runId)
    if (known) this.follow(FollowedJob.again(known))
  }

  get working(): boolean {
    return this.job !== null && !this.job.ended
  }

  start(): void {
    const job = FollowedJob.start({ work: 'debrief', run_id: this.runId })
    remember(this.runId, job.id)
    this.follow(job)
  }

  async cancel(): Promise<void> {
    await this.job?.cancel()
  }

  /** Clear the messages of the last one. */
  clear(): void {
    remember(this.runId, null)
    this.job = null
  }

  leave(): void {
    this.job?.leave()
  }

  private follow(job: FollowedJob): void {
    this.job = job
    void this.untilEnded(job)
  }

  private async untilEnded(job: FollowedJob): Promise<void> {
    while (!job.ended) {
      await new Promise((done) => setTimeout(done, 150))
      if (this.job !== job) return
    }
    remember(this.runId, null)
    if (job.state === 'done') {
      await this.made()
      if (!this.faultsOf(job).length) this.job = null
    }
  }

  /** What was left out of a finished debrief, one line each. */
  faultsOf(job: FollowedJob): readonly Said[] {
    const told = job.result as { faults?: string[] } | null
    return job.state === 'done' ? (told?.faults ?? []) : job.faults
  }
}
