/** Compute the state of a run from its items: pure, in any order, each item once (docs/day_file.md). */
import type { Item, ItemOf, Kind } from './items'
import { ownMoments, type Shift, shiftsOf } from './moments'

export interface Timed {
  id: string
  phone: string
  burial: string | null
  searcher: string | null
  /** On the common clock, ms since 1970. */
  at_ms: number
  since_alarm_s: number | null
  amended: boolean
}
export interface SplitRow extends Timed {
  split: string
}
export interface SeenRow extends Timed {
  about: string | null
  words: string
  seen: boolean | null
}
export interface NoteRow extends Timed {
  words: string
}

export interface RunState {
  alarm_ms: number | null
  shifts: Shift[]
  splits: SplitRow[]
  /** Splits that do not count: set aside or undone. */
  left: (SplitRow & { why: 'aside' | 'undone' })[]
  seen: SeenRow[]
  notes: NoteRow[]
  digs: Map<string, string[]>
  burials: Map<string, ItemOf<'burial'>>
  searchers: Map<string, string>
  hidden: Map<string, ItemOf<'hidden'>>
  dugOut: Map<string, ItemOf<'hidden'>>
  sets: Map<string, ItemOf<'set'>>
  ticks: Map<string, boolean>
  close: ItemOf<'close'> | null
  stop: ItemOf<'stop'> | null
  /** How many marks each phone has pressed. */
  marks: Map<string, number>
}

/** The items without repeats, and the order in which they take effect. */
export class Read {
  readonly items: Item[]
  readonly shifts: Shift[]
  private readonly own: Map<string, number>
  private readonly shift: Map<string, number>
  private readonly verdicts = new Map<string, 'undo' | 'restore'>()

  constructor(given: readonly Item[]) {
    const once = [...new Map([...given].reverse().map((item) => [item.id, item])).values()]
    this.own = ownMoments(once)
    // What counts decides which alarm aligns the clocks; the alignment decides the order of two phones' verdicts.
    this.verdictsIn(this.ordered(once, null))
    this.shifts = shiftsOf(once, this.own, (item) => this.counts(item))
    this.shift = new Map(this.shifts.map((one) => [one.phone, one.shift_ms ?? 0]))
    this.items = this.ordered(once, this.shift)
    this.verdicts.clear()
    this.verdictsIn(this.items)
  }

  private verdictsIn(items: readonly Item[]): void {
    for (const item of items) if (item.kind === 'undo' || item.kind === 'restore') this.verdicts.set(item.item, item.kind)
  }

  /** Order by moment, never before an earlier item of the same phone; then by phone and number. */
  private ordered(items: readonly Item[], shift: Map<string, number> | null): Item[] {
    const latest = new Map<string, number>()
    const key = new Map<Item, number>()
    for (const item of [...items].sort((a, b) => a.n - b.n)) {
      const at = (this.own.get(item.id) ?? 0) + (shift?.get(item.phone) ?? 0)
      const line = `${item.phone} ${item.of}`
      key.set(item, Math.max(latest.get(line) ?? -Infinity, at))
      latest.set(line, key.get(item) ?? at)
    }
    return [...items].sort((a, b) => (key.get(a) ?? 0) - (key.get(b) ?? 0) || byName(a.phone, b.phone) || a.n - b.n)
  }

  counts(item: Item): boolean {
    const verdict = this.verdicts.get(item.id)
    return verdict ? verdict === 'restore' : !(item.kind === 'split' && item.aside)
  }

  /** The moment of an item on the common clock, ms. */
  at(item: Item, ownMs = this.own.get(item.id) ?? item.wall_ms): number {
    return ownMs + (this.shift.get(item.phone) ?? 0)
  }

  /** The items of one kind that count, in order. */
  of<K extends Kind>(kind: K): ItemOf<K>[] {
    return this.items.filter((item): item is ItemOf<K> => item.kind === kind && this.counts(item))
  }
}

export function reduceRun(given: readonly Item[]): RunState {
  const read = new Read(given)
  const amends = read.of('amend')
  const alarms = read.of('alarm').map((item) => timed(read, amends, item, null).at_ms)
  const alarm_ms = alarms.length ? Math.min(...alarms) : null
  const row = (item: Item): Timed => timed(read, amends, item, alarm_ms)
  const byTime = (a: Timed, b: Timed): number => a.at_ms - b.at_ms || byName(a.phone, b.phone)
  const splits = read.items.filter((item): item is ItemOf<'split'> => item.kind === 'split')
  const hidden = read.of('hidden')
  return {
    alarm_ms,
    shifts: read.shifts,
    splits: splits.filter((item) => read.counts(item)).map((item) => ({ ...row(item), split: item.split })).sort(byTime),
    left: splits
      .filter((item) => !read.counts(item))
      .map((item) => ({ ...row(item), split: item.split, why: item.aside ? ('aside' as const) : ('undone' as const) }))
      .sort(byTime),
    seen: read.of('seen').map((item) => ({ ...row(item), about: item.about, words: item.words, seen: item.seen })).sort(byTime),
    notes: read.of('note').map((item) => ({ ...row(item), words: item.words })).sort(byTime),
    digs: new Map(read.of('digs').map((item) => [item.burial, item.searchers])),
    burials: new Map(read.of('burial').map((item) => [item.burial, item])),
    searchers: new Map(read.of('searcher').map((item) => [item.searcher, item.name])),
    hidden: new Map(hidden.filter((item) => item.when === 'hidden').map((item) => [item.burial, item])),
    dugOut: new Map(hidden.filter((item) => item.when === 'dug out').map((item) => [item.burial, item])),
    sets: new Map(read.of('set').map((item) => [item.burial, item])),
    ticks: new Map(read.of('tick').map((item) => [item.what, item.done])),
    close: read.of('close').at(-1) ?? null,
    stop: read.of('stop').at(-1) ?? null,
    marks: countBy(read.of('mark').map((item) => item.phone)),
  }
}

function timed(read: Read, amends: ItemOf<'amend'>[], item: Item, alarm_ms: number | null): Timed {
  const own = amends.filter((amend) => amend.item === item.id)
  const moment = own.filter((amend) => amend.at_ms !== null).at(-1)?.at_ms
  const at_ms = read.at(item, moment ?? undefined)
  const values = item as { burial?: string | null; searcher?: string | null }
  const last = (key: 'burial' | 'searcher'): string | null =>
    (own.filter((amend) => amend[key] !== null).at(-1)?.[key] ?? values[key] ?? '') || null
  return {
    id: item.id,
    phone: item.phone,
    burial: last('burial'),
    searcher: last('searcher'),
    at_ms,
    since_alarm_s: alarm_ms === null ? null : (at_ms - alarm_ms) / 1000,
    amended: own.length > 0,
  }
}

function countBy(names: string[]): Map<string, number> {
  const counts = new Map<string, number>()
  for (const name of names) counts.set(name, (counts.get(name) ?? 0) + 1)
  return counts
}

/** Compare by code points, so that the order is the same in every language. */
function byName(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0
}
