/** The kinds of records that people fill in, and which fields of a stored record they can edit. */
import { FIELDS, type Forms } from './fields'

export { FIELDS, type Forms }
export type Kind = keyof Forms

/** The form inside a stored record. */
export function formOf<K extends Kind>(kind: K, stored: object): Forms[K] {
  const all = stored as Record<string, unknown>
  const mine = FIELDS[kind].filter((field) => all[field as string] !== undefined)
  return Object.fromEntries(mine.map((field) => [field, all[field as string]])) as unknown as Forms[K]
}
