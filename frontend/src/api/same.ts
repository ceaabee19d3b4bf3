/** Whether two plain values (as JSON) are equal; keys in any order. */
export function same(a: unknown, b: unknown): boolean {
  if (Object.is(a, b)) return true
  if (typeof a !== 'object' || typeof b !== 'object' || a === null || b === null) return false
  if (Array.isArray(a) !== Array.isArray(b)) return false
  const [of_a, of_b] = [Object.entries(a), b as Record<string, unknown>]
  return of_a.length === Object.keys(b).length && of_a.every(([key, value]) => key in of_b && same(value, of_b[key]))
}
