/** The values of a chart that pointer and keys can select. */

export interface Mark {
  /** In pixels of the drawing. */
  x: number
  y: number
  /** The value in words: 'A, 4 min: 62 %'. */
  words: string
}

/** The index of the mark nearest to a place; -1 if there is none. */
export function nearest(marks: readonly Mark[], x: number, y: number): number {
  let [best, least] = [-1, Infinity]
  marks.forEach((mark, i) => {
    const off = Math.hypot(mark.x - x, 0.4 * (mark.y - y))
    if (off < least) [best, least] = [i, off]
  })
  return best
}

/**
 * The mark that a key selects: the left and right arrows move along x, up and down among marks at the same x, Home and End to the ends; null for any other key.
 */
export function stepped(marks: readonly Mark[], at: number, key: string): number | null {
  const order = marks.map((_, i) => i).sort((a, b) => (marks[a]?.x ?? 0) - (marks[b]?.x ?? 0) || (marks[a]?.y ?? 0) - (marks[b]?.y ?? 0))
  const place = order.indexOf(at)
  const here = marks[at]
  if (key === 'Home') return order[0] ?? null
  if (key === 'End') return order.at(-1) ?? null
  if (!['ArrowLeft', 'ArrowRight', 'ArrowUp', 'ArrowDown'].includes(key)) return null
  if (!here) return order[0] ?? null
  const way = key === 'ArrowLeft' || key === 'ArrowUp' ? -1 : 1
  if (key === 'ArrowUp' || key === 'ArrowDown') {
    const next = order[place + way]
    return next !== undefined && marks[next]?.x === here.x ? next : at
  }
  const further = (way > 0 ? order.slice(place + 1) : order.slice(0, place).reverse()).filter((i) => marks[i]?.x !== here.x)
  const x = marks[further[0] ?? -1]?.x
  const there = further.filter((i) => marks[i]?.x === x)
  // Of several at the next x, choose the one at about the same height, so as to follow a line.
  return there.sort((a, b) => Math.abs((marks[a]?.y ?? 0) - here.y) - Math.abs((marks[b]?.y ?? 0) - here.y))[0] ?? at
}
