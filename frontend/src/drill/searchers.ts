/** The searchers of a plan, each with a hue, a dash and initials. */
import { initialsOf, markOf } from '../debrief/people'
import type { DrillDocument } from './document'

export interface Marked {
  id: string
  name: string
  initials: string
  hue: string
  dash: string
}

/** The searchers of the drill, and further ones in a plan for more people. */
export function markedSearchers(document: DrillDocument, ids: readonly string[] = []): Map<string, Marked> {
  const known = document.searchers.map(({ id, name }) => ({ id, name }))
  const more = ids.filter((id) => !known.some((one) => one.id === id)).map((id, i) => ({ id, name: `+ ${i + 1}` }))
  const all = [...known, ...more]
  const initials = initialsOf(all.map((one) => one.name))
  return new Map(all.map((one, i) => [one.id, { ...one, initials: initials[i] ?? '?', ...markOf(i) }]))
}
