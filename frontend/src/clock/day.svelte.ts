/** The data on this phone for the pages, kept in step with other tabs. */
import { newId } from './ids'
import type { Fresh, Item, Run } from './items'
import { type Moment, openStore, type Phone, type Store } from './store'

const page = newId()

/** The moment of a press: by the phone's clock, and by the page's own clock, which cannot be set. */
export function moment(): Moment {
  return { wall_ms: Date.now(), page, since_page_ms: Math.round(performance.now() * 10) / 10 }
}

export interface Waiting {
  of: string
  name: string
  /** Items that are not on the laptop yet. */
  items: number
  upto: number
  day: Item['wall_ms']
}

class Day {
  /** An id of this page load, to which `since_page_ms` refers. */
  readonly page = page
  private store: Store | null = null
  private readonly others = 'BroadcastChannel' in globalThis ? new BroadcastChannel('coldfield-clock') : null
  phone = $state.raw<Phone>({ id: '', name: '', keeper: '', agreed_word: '', emergency_number: '' })
  runs = $state.raw<Run[]>([])
  items = $state.raw<Item[]>([])
  lasts = $state(true)
  /** Whether the browser promised not to clear the storage on its own; null if unknown. */
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

  /** Ask the browser not to clear the storage on its own; some browsers ask the person, so this follows a press. */
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

  /** Keep an item; the promise resolves when it is on the disk. */
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

/** The items of a run or check that have not been brought back, according to the keeper. */
export function waitingOf(of: string, items: readonly Item[], phone: string, name: string): Waiting {
  const own = items.filter((item) => item.phone === phone)
  const brought = Math.max(0, ...own.map((item) => (item.kind === 'brought' ? item.upto : 0)))
  const left = own.filter((item) => item.n > brought && item.kind !== 'brought')
  return { of, name, items: left.length, upto: Math.max(0, ...own.map((item) => item.n)), day: own[0]?.wall_ms ?? 0 }
}

export const day = new Day()
