/** Make debriefs from an older model again: one job per run, the earliest run first. */
import type { Said } from '../words'
import { FollowedJob } from '../api/jobs.svelte'

export interface OldRun {
  run_id: string
  held_utc: string
  words: string
}

export class Anew {
  job = $state.raw<FollowedJob | null>(null)
  /** The number of the current run. */
  at = $state(0)
  of = $state(0)
  /** Runs that could not be debriefed, with the reasons. */
  failed = $state.raw<{ run: OldRun; faults: readonly Said[] }[]>([])
  private stopped = false

  get working(): boolean {
    return this.job !== null
  }

  /** Debrief each run again, in order, so that later runs find earlier debriefs of the same model. */
  async start(runs: readonly OldRun[], made: () => unknown): Promise<void> {
    if (this.working) return
    this.stopped = false
    this.failed = []
    this.of = runs.length
    const ordered = [...runs].sort((a, b) => a.held_utc.localeCompare(b.held_utc))
    for (const [k, run] of ordered.entries()) {
      if (this.stopped) break
      this.at = k + 1
      const job = FollowedJob.start({ work: 'debrief', run_id: run.run_id })
      this.job = job
      await job.end()
      if (job.state === 'failed') this.failed = [...this.failed, { run, faults: [...job.faults] }]
    }
    this.job = null
    await made()
  }

  /** Cancel the current job and start no more; finished debriefs stay. */
  async cancel(): Promise<void> {
    this.stopped = true
    await this.job?.cancel()
  }

  /** Leave the page: the current job continues, and the other runs stay marked. */
  leave(): void {
    this.stopped = true
    this.job?.leave()
  }
}
