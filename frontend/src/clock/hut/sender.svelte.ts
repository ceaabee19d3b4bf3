/**
 * Sends this phone's items of a run to the hut during the run, and repeats until they are acknowledged.
 *
 * Acknowledgements are remembered only by this page. After a reload it sends everything once more, and the hut keeps each item once. So nothing depends on a note that could be lost.
 */
import { day, moment } from '../day.svelte'
import { writeDayFile } from '../day_file'
import type { Item } from '../items'
import type { Joined, May } from './code'
import { type CodeStore, openCodes } from './kept'
import { left, MOST_ITEMS, ofsOf, piece } from './pieces'

export type State = 'sending' | 'no answer' | 'code' | 'wait'

interface Answer {
  have: string[]
  not_taken: string[]
}

/** Delays before the next attempt, ms: short after a press, then longer and longer. Settings. */
const SOON_MS = 1500
const LATEST_MS = 20_000
const PATIENCE_MS = 15_000

class Sender {
  codes = $state.raw<readonly Joined[]>([])
  state = $state<State>('sending')
  private acknowledged = $state.raw<ReadonlySet<string>>(new Set())
  private notTaken = $state.raw<ReadonlySet<string>>(new Set())
  private store: CodeStore | null = null
  private refused = new Set<string>()
  private wait_ms = SOON_MS
  private most = MOST_ITEMS
  private timer: ReturnType<typeof setTimeout> | undefined
  private busy = false

  readonly keepers: readonly Joined[] = $derived(this.codes.filter((one) => one.may === 'keeper'))
  /** Entries of the joined runs that are not in the hut yet. */
  readonly waiting: number = $derived(this.keepers.flatMap((one) => this.leftOf(one)).filter((item) => item.kind !== 'brought').length)
  /** Entries that the hut refuses; they go back as a file. */
  readonly notTakenCount: number = $derived(this.notTaken.size)

  async open(): Promise<void> {
    if (!location.protocol.startsWith('http')) return
    this.store = await openCodes()
    this.codes = await this.store.load().catch(() => [])
    addEventListener('online', () => this.soon())
    document.addEventListener('visibilitychange', () => !document.hidden && this.soon())
    $effect.root(() => {
      $effect(() => {
        void day.items
        void this.codes
        this.soon()
      })
    })
  }

  async join(one: Joined): Promise<void> {
    this.store ??= await openCodes()
    await this.store.keep(one)
    this.refused.delete(one.code)
    this.codes = [...this.codes.filter((other) => other.may !== one.may || other.run !== one.run), one]
  }

  codeOf(run: string, may: May): Joined | null {
    return this.codes.find((one) => one.run === run && one.may === may) ?? null
  }

  /** Whether the items of a run or check are sent to the hut automatically. */
  takes(of: string): boolean {
    return this.state !== 'code' && !this.notTaken.size && this.keepers.some((one) => ofsOf(one.run, day.byOf).includes(of))
  }

  private leftOf(one: Joined): Item[] {
    const done = new Set([...this.acknowledged, ...this.notTaken])
    return ofsOf(one.run, day.byOf).flatMap((of) => left(day.of(of), day.phone.id, done))
  }

  private soon(): void {
    this.wait_ms = SOON_MS
    this.later(0)
  }

  private later(in_ms: number): void {
    clearTimeout(this.timer)
    this.timer = setTimeout(() => void this.send(), in_ms)
  }

  private async send(): Promise<void> {
    const next = this.keepers.find((one) => !this.refused.has(one.code) && this.leftOf(one).length)
    if (this.busy || !day.ready || !next) return
    this.busy = true
    const items = piece(this.leftOf(next), this.most)
    const went = await this.post(next, items).catch(() => 'no answer' as const)
    this.busy = false
    this.state = went === 'done' ? 'sending' : went
    if (went === 'done') {
      this.wait_ms = SOON_MS
      await this.noteBrought(next)
      this.later(0)
    } else {
      if (went === 'code') this.refused.add(next.code)
      this.later(this.wait_ms)
      this.wait_ms = Math.min(this.wait_ms * 2, LATEST_MS)
    }
  }

  private async post(one: Joined, items: readonly Item[]): Promise<'done' | State> {
    const ofs = [...new Set(items.map((item) => item.of))]
    const phone = { line: 'phone' as const, id: day.phone.id, name: day.phone.name, keeper: day.phone.keeper }
    const runs = ofs.flatMap((of) => day.run(of) ?? [])
    const answer = await fetch('/api/hut/day', {
      method: 'POST',
      headers: { 'content-type': 'text/plain', 'x-coldfield-code': one.code, 'x-coldfield-phone': day.phone.id },
      body: writeDayFile({ made_ms: moment().wall_ms, phone, runs, items }),
      signal: AbortSignal.timeout(PATIENCE_MS),
    })
    if (answer.status === 401) return 'code'
    if (answer.status === 429) {
      this.wait_ms = Math.max(this.wait_ms, 1000 * Number(answer.headers.get('retry-after') ?? 0))
      return 'wait'
    }
    if (answer.status === 422 || answer.status === 413) return this.halved(items)
    if (!answer.ok) return 'no answer'
    this.note((await answer.json()) as Answer, items)
    return 'done'
  }

  /** One of the items is refused: find it by sending fewer, and leave it for the file. */
  private halved(items: readonly Item[]): 'done' {
    if (items.length === 1) this.notTaken = new Set([...this.notTaken, ...items.map((item) => item.id)])
    this.most = items.length === 1 ? MOST_ITEMS : Math.ceil(items.length / 2)
    return 'done'
  }

  private note(answer: Answer, items: readonly Item[]): void {
    const sent = new Set(items.map((item) => item.id))
    const own = (ids: string[]): string[] => ids.filter((id) => sent.has(id))
    this.acknowledged = new Set([...this.acknowledged, ...own(answer.have)])
    this.notTaken = new Set([...this.notTaken, ...own(answer.not_taken)])
    this.most = MOST_ITEMS
  }

  /** A finished run that is complete in the hut does not need to be brought back. */
  private async noteBrought(one: Joined): Promise<void> {
    for (const of of ofsOf(one.run, day.byOf)) {
      const own = day.of(of).filter((item) => item.phone === day.phone.id)
      const over = own.some((item) => item.kind === 'close' || item.kind === 'check_end')
      const brought = Math.max(0, ...own.map((item) => (item.kind === 'brought' ? item.upto : 0)))
      const told = own.filter((item) => item.kind !== 'brought')
      const upto = Math.max(0, ...told.map((item) => item.n))
      if (over && upto > brought && told.every((item) => this.acknowledged.has(item.id))) {
        await day.add(of, { kind: 'brought', upto }, moment()).catch(() => null)
      }
    }
  }
}

export const sender = new Sender()
