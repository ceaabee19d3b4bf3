/** The query part of an address; undefined and null values are left out. */
export function queryOf(values: Record<string, string | number | null | undefined>): string {
  const given = Object.entries(values).filter(([, value]) => value !== null && value !== undefined)
  return new URLSearchParams(given.map(([name, value]): [string, string] => [name, String(value)])).toString()
}
