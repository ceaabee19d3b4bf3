/** Debriefs that an older model worked out, worked out anew: one job a run, the earliest run first. */
import type { Said } from '../words'
import { FollowedJob } from '../api/jobs.svelte'

export interface OldRun {
  run_id: string
  held_utc: string
  words: string
}

export class Anew {
  job = $state.raw<FollowedJob | null>(null)
  /** Which of how many it is at. */
  at = $state(0)
  of = $state(0)
  /** Runs that could not be debriefed, with what was said. */
  failed = $state.raw<{ run: OldRun; faults: readonly Said[] }[]>([])
  private stopped = false

  get working(): boolean {
    return this.job !== null
  }

  /** Debrief each run again; a run that looks back finds earlier ones of this model already. */
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

  /** Begin no further one, and end the one under way; those that are done stay. */
  async cancel(): Promise<void> {
    this.stopped = true
    await this.job?.cancel()
  }

  /** Leave the page: the one under way goes on, the others keep their mark. */
  leave(): void {
    this.stopped = true
    this.job?.leave()
  }
}
