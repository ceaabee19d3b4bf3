/** The minutes during editing: few runs while something moves, as many as a rehearsal once nothing moves. */
import { api, ask, Problem, Unreachable } from '../../api/client'
import type { SchemaLiveAnswer } from '../../api/schema'
import type { DrillDocument } from '../document'
import { offGround } from '../faults'
import { Latest } from '../hearing/latest'
import { played } from '../rehearsal.svelte'
import { sent } from '../strips.svelte'

export type LiveStatus = 'none' | 'preparing' | 'shown' | 'refused' | 'unreachable' | 'failed'

interface Question {
  document: DrillDocument
  key: string
  settled: boolean
}

/** Sends a request to the service. */
export type Asking = (document: DrillDocument, settled: boolean, signal: AbortSignal, most_runs: number) => Promise<SchemaLiveAnswer>

const overService: Asking = (document, settled, signal, most_runs) =>
  ask(api.POST('/api/minutes', { body: { drill: sent(document), settled, most_runs }, signal }))

/** Runs while something moves: as many as this machine can play without lag. */
const STEPS = [200, 100, 60] as const
/** Answers slower than the first value lag visibly; below the second there is time for more runs, ms. */
const [SLOW_MS, QUICK_MS] = [160, 50]
/** The number of such answers in a row that counts, because a single one may have waited for something else. */
const IN_A_ROW = 3

/** The number of runs for an answer, from the time of the last answers. */
export class Pace {
  private step = 0
  private over = 0

  get runs(): number {
    return STEPS[this.step] ?? 60
  }

  took(ms: number): void {
    const way = ms > SLOW_MS ? 1 : ms < QUICK_MS ? -1 : 0
    this.over = way === 0 || Math.sign(this.over) === -way ? way : this.over + way
    if (Math.abs(this.over) < IN_A_ROW) return
    this.step = Math.min(STEPS.length - 1, Math.max(0, this.step + way))
    this.over = 0
  }
}

/** The results of few runs and of all runs for one drill. */
interface Anchor {
  few: SchemaLiveAnswer
  all: SchemaLiveAnswer
}

/**
 * The result of few runs for a changed drill, corrected by the error of few runs for the last settled drill. All have the same draws, so the difference is much more precise than either result, and nothing jumps when a drag begins.
 */
export function corrected(told: SchemaLiveAnswer, anchor: Anchor | null): SchemaLiveAnswer {
  if (told.settled || !anchor || anchor.few.runs !== told.runs) return told
  const { few, all } = anchor
  const band = <B extends { p10: number | null; p50: number | null; p90: number | null }>(of: (one: SchemaLiveAnswer) => B): B => {
    let least = 0
    const moved = { ...of(told) }
    for (const name of ['p10', 'p50', 'p90'] as const) {
      const [now, then, known] = [of(told)[name], of(few)[name], of(all)[name]]
      if (now !== null && then !== null && known !== null) moved[name] = least = Math.max(least, known + now - then)
      else if (now !== null) least = Math.max(least, now)
    }
    return moved
  }
  return { ...told, all_clear: { ...told.all_clear, seconds: band((one) => one.all_clear.seconds), unsure: band((one) => one.all_clear.unsure) } }
}

export class Live {
  /** The last answer; it belongs to an older drill while `behind`. */
  value = $state.raw<SchemaLiveAnswer | null>(null)
  status = $state<LiveStatus>('none')
  /** The key of the current drill; only its answers count as final. */
  private key = $state<string | null>(null)
  private shownKey = $state<string | null>(null)
  private readonly latest: Latest<Question, SchemaLiveAnswer>
  private readonly pace = new Pace()

  constructor(asking: Asking = overService) {
    this.latest = new Latest<Question, SchemaLiveAnswer>({
      ask: async ({ document, settled }, signal) => {
        const began_ms = performance.now()
        const answer = await asking(document, settled, signal, this.pace.runs)
        if (!settled) this.pace.took(performance.now() - began_ms)
        return answer
      },
      answered: (answer, question) => this.answered(answer, question),
      failed: (error) => this.failed(error),
    })
  }

  /** Whether the answer shown belongs to a drill that has changed since. */
  get behind(): boolean {
    return this.key !== this.shownKey
  }

  /** Whether the minutes are those of the drill as it is, from all runs. */
  get settled(): boolean {
    return !this.behind && this.value !== null && this.value.settled
  }

  /** Request the minutes of the current drill, but not if only texts changed, or while a burial is outside the ground. */
  follow(document: DrillDocument): void {
    if (!document.burials.length || !document.searchers.length) {
      this.clear()
      return
    }
    const key = JSON.stringify(played(document))
    if (key === this.key) return
    const settling = this.asked?.settled === true
    this.key = key
    if (document.burials.some(({ position_m }) => offGround(position_m, document.site) !== null)) {
      this.latest.stop()
      this.asked = null
      this.status = 'refused'
      return
    }
    this.want({ document, key, settled: false }, settling)
  }

  clear(): void {
    this.latest.stop()
    this.asked = null
    this.few = null
    this.anchor = null
    this.key = null
    this.shownKey = null
    this.value = null
    this.status = 'none'
  }

  /** The current request, the last answer from few runs, and the last settled result. */
  private asked: Question | null = null
  private few: { key: string; answer: SchemaLiveAnswer } | null = null
  private anchor: Anchor | null = null

  /** A settling request is dropped for a moving one; moving ones are answered, so that a drag always shows something. */
  private want(question: Question, drop: boolean): void {
    this.asked = question
    this.latest.want(question, drop)
  }

  private answered(answer: SchemaLiveAnswer, question: Question): void {
    this.value = corrected(answer, this.anchor)
    this.shownKey = question.key
    this.status = 'shown'
    if (question.settled && this.few?.key === question.key) this.anchor = { few: this.few.answer, all: answer }
    if (!question.settled) this.few = { key: question.key, answer }
    if (question.key !== this.key) return
    if (!question.settled) this.want({ ...question, settled: true }, false)
    else this.asked = null
  }

  private failed(error: unknown): boolean {
    const status = error instanceof Problem ? error.status : null
    if (error instanceof Unreachable) this.status = 'unreachable'
    else if (status === 503) this.status = 'preparing'
    else if (status === 422) this.status = 'refused'
    else this.status = 'failed'
    return this.status === 'unreachable' || this.status === 'preparing'
  }
}
