/** Upload a file: return the service's answer, or follow the job that it became. */
import { askRaw, Problem } from './client'
import { FollowedJob } from './jobs.svelte'
import type { SchemaJobTold } from './schema'

/** Called with the job while there is one, then with null. */
export type OnJob = (job: FollowedJob | null) => void

const BECAME_A_JOB = 202

/** Return the result. A cancelled job throws an `AbortError`, a failed one a `Problem`. */
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

/** Send a file and wait for the result. */
export async function askLong<Answer>(address: string, options: RequestInit, onjob: OnJob = () => undefined): Promise<Answer> {
  const answer = await askRaw(address, options)
  return outcome<Answer>(answer.status, await answer.json(), onjob)
}

/** Whether an error means that a person cancelled. */
export const wasCancelled = (error: unknown): boolean => error instanceof DOMException && error.name === 'AbortError'
