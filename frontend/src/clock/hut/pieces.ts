/** What a phone sends of a run: its own items that are not in the hut yet, in order, in pieces. */
import type { Item } from '../items'

/** Items in one piece: about 60 kB. Setting. */
export const MOST_ITEMS = 200

/** The checks of a run: those begun from it, and those that name it. */
export function ofsOf(run: string, byOf: ReadonlyMap<string, readonly Item[]>): string[] {
  const checks = [...byOf].filter(([, items]) => items.some((item) => item.kind === 'check' && item.run === run)).map(([of]) => of)
  return [run, ...checks.filter((of) => of !== run)]
}

/** The items of one run or check still to send; a note that everything was brought back does not count on its own. */
export function left(items: readonly Item[], phone: string, done: ReadonlySet<string>): Item[] {
  const own = items.filter((item) => item.phone === phone && !done.has(item.id)).sort((a, b) => a.n - b.n)
  return own.some((item) => item.kind !== 'brought') ? own : []
}

/** The next piece: at most `most` items. */
export const piece = (items: readonly Item[], most: number): Item[] => items.slice(0, Math.max(1, most))
