/** What a group's runs show: one job, started when the page opens and whenever its runs change. */
import { api, ask } from '../api/client'
import { FollowedJob } from '../api/jobs.svelte'
import type { SchemaCoachAnswer } from '../api/schema'

export class Coach {
  job = $state.raw<FollowedJob | null>(null)
  /** The last answer, shown until the next arrives. */
  answer = $state.raw<SchemaCoachAnswer | null>(null)
  private asked = 0

  /** Learn from the runs of a course, '' for everybody on record. */
  async start(course: string, today: string): Promise<void> {
    this.asked += 1
    const mine = this.asked
    this.job?.leave()
    const job = FollowedJob.start({ work: 'coach', course_id: course || null, today })
    this.job = job
    await job.end()
    if (mine === this.asked && job.state === 'done') this.answer = job.result as SchemaCoachAnswer
  }

  close(): void {
    this.asked += 1
    this.job?.leave()
  }
}
export interface Named {
  id: string
  name: string
}

export async function allOf(kind: 'courses' | 'drills'): Promise<Named[]> {
  const page = kind === 'courses' ? await ask(api.GET('/api/courses', { params: { query: { limit: 500 } } })) : await ask(api.GET('/api/drills', { params: { query: { limit: 500 } } }))
  return page.items.map(({ id, name }) => ({ id, name }))
}
