/** A file that was sent: what the service answers, or the job that its reading became, followed until it ends. */
import { askRaw, Problem } from './client'
import { FollowedJob } from './jobs.svelte'
import type { SchemaJobTold } from './schema'

/** Told the job while there is one, then null. */
export type OnJob = (job: FollowedJob | null) => void

const BECAME_A_JOB = 202

/** What came of it. A job that was cancelled throws an `AbortError`, one that failed a `Problem`. */
export async function outcome<Answer>(status: number, body: unknown, onjob: OnJob): Promise<Answer> {
  if (status !== BECAME_A_JOB) return body as Answer
  const job = FollowedJob.again((body as SchemaJobTold).id)
  onjob(job)
  try {
    await job.end()
  } finally {
    onjob(null)
  }
  if (job.state === 'done') return job.result as Answer
  if (job.state === 'failed') throw new Problem(422, '', job.faults)
  throw new DOMException('cancelled', 'AbortError')
}

/** Send a file and wait for what comes of it. */
export async function askLong<Answer>(address: string, options: RequestInit, onjob: OnJob = () => undefined): Promise<Answer> {
  const answer = await askRaw(address, options)
  return outcome<Answer>(answer.status, await answer.json(), onjob)
}

/** Whether something was ended by the person. */
export const wasCancelled = (error: unknown): boolean => error instanceof DOMException && error.name === 'AbortError'
