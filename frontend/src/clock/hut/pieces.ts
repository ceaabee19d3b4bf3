/** What a phone sends of a run: its own items that are not in the hut yet, in their order, in pieces. */
import type { Item } from '../items'

/** Items in one piece: about 60 kB. Setting. */
export const MOST_ITEMS = 200

/** The checks that belong to a run: those that were begun from it, or say so. */
export function ofsOf(run: string, byOf: ReadonlyMap<string, readonly Item[]>): string[] {
  const checks = [...byOf].filter(([, items]) => items.some((item) => item.kind === 'check' && item.run === run)).map(([of]) => of)
  return [run, ...checks.filter((of) => of !== run)]
}

/** What is still to be sent of one run or check; a note that all was brought says nothing of the run by itself. */
export function left(items: readonly Item[], phone: string, done: ReadonlySet<string>): Item[] {
  const own = items.filter((item) => item.phone === phone && !done.has(item.id)).sort((a, b) => a.n - b.n)
  return own.some((item) => item.kind !== 'brought') ? own : []
}

/** The piece that goes next: as many items as there are, at most `most`. */
export const piece = (items: readonly Item[], most: number): Item[] => items.slice(0, Math.max(1, most))
