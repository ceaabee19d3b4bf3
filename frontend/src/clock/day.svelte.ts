/** What this phone holds, as the pages see it; another tab of the same phone is followed. */
import { newId } from './ids'
import type { Fresh, Item, Run } from './items'
import { type Moment, openStore, type Phone, type Store } from './store'

const page = newId()

/** The moment of a press: the phone's clock, and the page's own, which nobody can set. */
export function moment(): Moment {
  return { wall_ms: Date.now(), page, since_page_ms: Math.round(performance.now() * 10) / 10 }
}

export interface Waiting {
  of: string
  name: string
  /** Items that are not brought back yet. */
  items: number
  upto: number
  day: Item['wall_ms']
}

class Day {
  /** The life of this page: within it `since_page_ms` runs. */
  readonly page = page
  private store: Store | null = null
  private readonly others = 'BroadcastChannel' in globalThis ? new BroadcastChannel('coldfield-clock') : null
  phone = $state.raw<Phone>({ id: '', name: '', keeper: '', agreed_word: '', emergency_number: '' })
  runs = $state.raw<Run[]>([])
  items = $state.raw<Item[]>([])
  lasts = $state(true)
  /** Whether the browser promised not to clear the storage by itself; null: not known. */
  promised = $state<boolean | null>(null)
  ready = $state(false)

  readonly byOf: ReadonlyMap<string, Item[]> = $derived(sorted(this.items))

  readonly waiting: Waiting[] = $derived.by(() =>
    [...this.byOf].map(([of, items]) => waitingOf(of, items, this.phone.id, this.nameOf(of))).filter((one) => one.items > 0),
  )

  async open(): Promise<void> {
    this.store = await openStore()
    this.lasts = this.store.lasts
    await this.reload()
    this.ready = true
    this.others?.addEventListener('message', () => void this.reload())
    document.addEventListener('visibilitychange', () => !document.hidden && void this.reload())
    this.promised = (await navigator.storage?.persisted?.().catch(() => null)) ?? null
  }

  /** Ask the browser not to clear the storage by itself; some ask the person, so a press comes before. */
  async askToStay(): Promise<void> {
    if (this.promised !== true) this.promised = (await navigator.storage?.persist?.().catch(() => null)) ?? null
  }

  private async reload(): Promise<void> {
    if (!this.store) return
    const kept = await this.store.load()
    this.phone = kept.phone
    this.runs = kept.runs
    this.items = kept.items
  }

  /** Keep an item; the promise is kept when it is on the disk. */
  async add(of: string, fresh: Fresh, at: Moment = moment()): Promise<Item> {
    if (!this.store) throw new Error('not ready')
    const item = await this.store.add(of, fresh, at)
    this.items = [...this.items.filter((one) => one.id !== item.id), item]
    this.others?.postMessage('added')
    return item
  }

  async keepRun(run: Run): Promise<void> {
    await this.store?.putRun(run)
    this.runs = [...this.runs.filter((one) => one.id !== run.id), run]
    this.others?.postMessage('run')
  }

  async keepPhone(change: Partial<Phone>): Promise<void> {
    this.phone = { ...this.phone, ...change }
    await this.store?.putPhone({ ...this.phone })
    this.others?.postMessage('phone')
  }

  async remove(of: string): Promise<void> {
    await this.store?.remove(of)
    await this.reload()
    this.others?.postMessage('removed')
  }

  run(id: string): Run | null {
    return this.runs.find((run) => run.id === id) ?? null
  }

  of(id: string): Item[] {
    return this.byOf.get(id) ?? []
  }

  nameOf(of: string): string {
    return this.run(of)?.name ?? ''
  }
}

function sorted(items: readonly Item[]): ReadonlyMap<string, Item[]> {
  const ofs = [...new Set(items.map((item) => item.of))]
  return new Map(ofs.map((of) => [of, items.filter((item) => item.of === of)]))
}

/** What of a run or check has not been brought back, by the keeper's own word. */
export function waitingOf(of: string, items: readonly Item[], phone: string, name: string): Waiting {
  const own = items.filter((item) => item.phone === phone)
  const brought = Math.max(0, ...own.map((item) => (item.kind === 'brought' ? item.upto : 0)))
  const left = own.filter((item) => item.n > brought && item.kind !== 'brought')
  return { of, name, items: left.length, upto: Math.max(0, ...own.map((item) => item.n)), day: own[0]?.wall_ms ?? 0 }
}

export const day = new Day()
