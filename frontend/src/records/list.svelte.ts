/** One list of records on a page: searched, filtered, continued, kept in step with other tabs. */
import { askRaw, onReachable, Unreachable } from '../api/client'
import { route } from '../app/router.svelte'
import { hear } from './tabs'

export type Query = Record<string, string>

const FIRST = 50
const MORE = 100
const MOST = 500

interface Told {
  /** Other kinds whose changes in another tab affect this list. */
  related?: readonly string[]
  /** Whether it is the main list of its page, whose length is restored on going back and on reload. */
  page?: boolean
  /** The most records per request. */
  most?: number
}

interface Answer<Item> {
  items: Item[]
  next: string | null
}

export class RecordList<Item extends { id: string }> {
  state = $state<'loading' | 'ready' | 'failed'>('loading')
  trouble = $state.raw<unknown>(null)
  items = $state.raw<Item[]>([])
  next = $state<string | null>(null)
  /** Further records are loading. */
  busy = $state(false)

  /** The address of the complete list as a table, or null if no table has the same filters. */
  table = $state<string | null>(null)

  private query: Query = {}
  private asked = 0
  private readonly quiet: () => void

  constructor(
    readonly kind: string,
    private readonly told: Told = {},
  ) {
    const quiet = hear([kind, ...(told.related ?? [])], () => void this.reload())
    // The list may be outdated after the service was gone.
    const deaf = onReachable((answers) => void (answers && this.state === 'ready' && this.reload()))
    this.quiet = () => {
      quiet()
      deaf()
    }
  }

  close(): void {
    this.quiet()
    this.asked += 1
  }

  /** Show the results of a query; the old ones stay until then. */
  async show(query: Query): Promise<void> {
    this.query = query
    const before = this.told.page ? route.kept<number>('shown') : null
    await this.load(Math.min(Math.max(before ?? 0, FIRST), this.told.most ?? MOST))
    while (before !== null && this.items.length < before && this.next !== null && this.state === 'ready') await this.more(before - this.items.length)
  }

  /** Reload the list up to its current length. */
  async reload(): Promise<void> {
    await this.load(Math.min(Math.max(this.items.length, FIRST), this.told.most ?? MOST))
  }

  async more(wanted = MORE): Promise<void> {
    const after = this.next
    if (after === null || this.busy) return
    const asked = this.asked
    this.busy = true
    try {
      const answer = await this.ask(Math.min(wanted, MORE), after)
      if (asked !== this.asked) return
      // Records that changed meanwhile may appear again at another place.
      const fresh = answer.items.filter(({ id }) => !this.items.some((known) => known.id === id))
      this.items = [...this.items, ...fresh]
      this.next = answer.next
      if (this.told.page) route.keep('shown', this.items.length)
    } finally {
      this.busy = false
    }
  }

  private async load(limit: number): Promise<void> {
    this.asked += 1
    const asked = this.asked
    try {
      const answer = await this.ask(limit, null)
      if (asked !== this.asked) return
      this.items = answer.items
      this.next = answer.next
      this.table = this.asTable()
      this.state = 'ready'
    } catch (error) {
      if (asked !== this.asked) return
      // Keep what is shown if the service is briefly gone; the page says that it is.
      if (error instanceof Unreachable && this.state === 'ready' && this.items.length) return
      this.trouble = error
      this.state = 'failed'
    }
  }

  private asTable(): string | null {
    const own = this.kind.split('/').at(-1) ?? ''
    const query = asQuery(this.query)
    return own === this.kind || query === '' ? `/api/${own}.csv${query && `?${query}`}` : null
  }

  private async ask(limit: number, after: string | null): Promise<Answer<Item>> {
    const query = asQuery({ ...this.query, limit: String(limit), after: after ?? '' })
    return (await (await askRaw(`/api/${this.kind}?${query}`)).json()) as Answer<Item>
  }
}

function asQuery(query: Query): string {
  const given = Object.entries(query).filter(([, value]) => value !== '')
  return given.map(([name, value]) => `${name}=${encodeURIComponent(value)}`).join('&')
}
