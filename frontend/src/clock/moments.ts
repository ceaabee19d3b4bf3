/** When each item happened: on its phone's clock, and on the common clock of all phones (docs/day_file.md). */
import type { Item } from './items'

/** A clock that fell behind the page's own by more than this was set back. */
const SET_BACK_MS = 2000

export interface Shift {
  phone: string
  /** The correction of this phone's times, ms; null if nothing was pressed together. */
  shift_ms: number | null
  by: 'this clock' | 'alarm' | 'mark' | null
}

/** The moment of each item on its own phone's clock, ms, by id, corrected if the clock was set back. */
export function ownMoments(items: readonly Item[]): Map<string, number> {
  const moments = new Map<string, number>()
  for (const own of byPhone(items).values()) {
    let added = 0
    let before: Item | null = null
    for (const item of [...own].sort((a, b) => a.of.localeCompare(b.of) || a.n - b.n)) {
      if (before?.of !== item.of) added = 0
      else if (before.page === item.page) {
        const gained = item.wall_ms - before.wall_ms - (item.since_page_ms - before.since_page_ms)
        if (gained < -SET_BACK_MS) added -= gained
      }
      moments.set(item.id, Math.round(item.wall_ms + added))
      before = item
    }
  }
  return moments
}

/** The shifts of the phones' clocks relative to the first phone whose alarm counts. */
export function shiftsOf(items: readonly Item[], own: ReadonlyMap<string, number>, counts: (item: Item) => boolean): Shift[] {
  const phones = [...byPhone(items).keys()].sort()
  const marks = new Map(phones.map((phone) => [phone, marksOf(items.filter((item) => item.phone === phone && counts(item)), own)]))
  const first = phones.find((phone) => marks.get(phone)?.has('alarm')) ?? phones[0]
  return phones.map((phone) => {
    if (phone === first) return { phone, shift_ms: 0, by: 'this clock' }
    const [theirs, firsts] = [marks.get(phone), marks.get(first ?? '')]
    const shared = [...(theirs?.keys() ?? [])].filter((name) => firsts?.has(name)).sort(byMark)[0]
    const [a, b] = [firsts?.get(shared ?? ''), theirs?.get(shared ?? '')]
    if (shared === undefined || a === undefined || b === undefined) return { phone, shift_ms: null, by: null }
    return { phone, shift_ms: a - b, by: shared === 'alarm' ? 'alarm' : 'mark' }
  })
}

function marksOf(items: Item[], own: ReadonlyMap<string, number>): Map<string, number> {
  const marks = new Map<string, number>()
  for (const item of [...items].sort((a, b) => a.n - b.n)) {
    const name = item.kind === 'alarm' ? 'alarm' : item.kind === 'mark' ? String(item.mark) : null
    if (name !== null && !marks.has(name)) marks.set(name, own.get(item.id) ?? item.wall_ms)
  }
  return marks
}

/** The alarm comes before other marks, a lower mark before a higher one. */
function byMark(a: string, b: string): number {
  return (a === 'alarm' ? 0 : Number(a)) - (b === 'alarm' ? 0 : Number(b))
}

function byPhone(items: readonly Item[]): Map<string, Item[]> {
  const phones = new Map<string, Item[]>()
  for (const item of items) {
    const own = phones.get(item.phone)
    if (own) own.push(item)
    else phones.set(item.phone, [item])
  }
  return phones
}
