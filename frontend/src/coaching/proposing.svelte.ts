/** The wish, and the search for drills: a job that can be cancelled. */
import { FollowedJob } from '../api/jobs.svelte'
import type { SchemaDrillPart, SchemaProposedAnswer } from '../api/schema'
import { currentLocale } from '../words'
import { numberFormat } from '../words/numbers'

export const WISHES = ['close-pair', 'overlap', 'upright', 'deep'] as const
export type Wish = (typeof WISHES)[number]
export type Way = 'between' | 'harder' | 'ladder'

export interface Laid {
  site: { boundary_m: number[][]; holes_m?: number[][][]; entry_m: number[] }
  burials: { id: string; position_m: number[]; depth_m: number; antenna: { azimuth_deg: number; tilt_deg: number } | null }[]
}

/** Minutes to half a minute, which is as precise as they are known. */
export function minutesOf(seconds: number): string {
  const half = Math.round(seconds / 30) / 2
  return numberFormat(currentLocale(), Number.isInteger(half) ? 0 : 1).format(half)
}

export class Proposing {
  job = $state.raw<FollowedJob | null>(null)
  way = $state<Way>('between')
  low = $state(7)
  high = $state(11)
  rungs = $state(3)
  wishes = $state<Wish[]>([])
  seed = $state(1)
  /** Whose figures are used to judge: '' the settings, 'all' everybody on record, else a course. */
  own = $state('')

  get running(): boolean {
    return this.job !== null && !this.job.ended
  }

  get answer(): SchemaProposedAnswer | null {
    return this.job?.state === 'done' ? (this.job.result as SchemaProposedAnswer) : null
  }

  start(drill: SchemaDrillPart): void {
    this.job?.leave()
    this.job = FollowedJob.start({
      work: 'propose',
      drill,
      p90_min: this.way === 'harder' ? null : [this.low, this.high],
      harder: this.way === 'harder',
      ladder: this.way === 'ladder' ? this.rungs : 0,
      wish: [...this.wishes],
      seed: this.seed,
      own_of: this.own === '' ? null : this.own === 'all' ? '' : this.own,
    } as never)
  }
}
