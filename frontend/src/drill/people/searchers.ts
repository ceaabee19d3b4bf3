/** Who searches: new people, their ids, changes with names for the list of what can be undone. */
import { say } from '../../words'
import { RECEIVER, SEARCHER, SKILLS, type DrillDocument, type Receiver, type Searcher, type SkillName } from '../document'
import type { DrillState } from '../state.svelte'

export const MOST_SEARCHERS = 60

/** Somebody as a person would begin with: practised, with a set that reaches 40 m, a probe and a shovel. */
export function newSearcher(name: string, searchers: readonly Searcher[]): Searcher {
  const ids = searchers.map(({ id }) => id)
  return {
    id: freeId(name, ids),
    name,
    ...SEARCHER,
    receiver: { ...RECEIVER, coaxial_range_m: 40 },
  }
}

/** A short id from a name, its own among the others: 'yuki', 'yuki-2'. */
export function freeId(name: string, taken: readonly string[]): string {
  const plain = name.normalize('NFKD').replace(/\p{M}/gu, '').toLowerCase()
  const short = plain.replace(/[^\p{L}\p{N}]+/gu, '-').replace(/^-|-$/g, '').slice(0, 30) || 's'
  for (let n = 1; ; n++) {
    const id = n === 1 ? short : `${short}-${n}`
    if (!taken.includes(id)) return id
  }
}

/** 'Searcher 3': a name that nobody has yet. */
export function freeName(searchers: readonly Searcher[]): string {
  for (let n = searchers.length + 1; ; n++) {
    const name = say('group.searcher', { n })
    if (!searchers.some((one) => one.name === name)) return name
  }
}

/** The named skill of somebody, or null where the drill file gives figures of the group's own. */
export function skillOf({ skill }: Searcher): SkillName | null {
  return typeof skill === 'string' && (SKILLS as readonly string[]).includes(skill) ? (skill as SkillName) : null
}

export function addSearcher(drill: DrillState, name: string): Searcher {
  const one = newSearcher(name, drill.document.searchers)
  drill.change(say('group.didAdd', { name }), (draft) => void draft.searchers.push(one))
  return one
}

export function removeSearcher(drill: DrillState, { id, name }: Searcher): void {
  drill.change(say('group.didRemove', { name }), (draft) => void (draft.searchers = draft.searchers.filter((one) => one.id !== id)))
}

export function changeSearcher(drill: DrillState, { id, name }: Searcher, values: Partial<Searcher>): void {
  write(drill, id, name, (one) => Object.assign(one, values), Object.keys(values).join())
}

export function changeReceiver(drill: DrillState, { id, name }: Searcher, values: Partial<Receiver>): void {
  write(drill, id, name, (one) => Object.assign(one.receiver, values), Object.keys(values).join())
}

/** Let somebody search with this set of the kit, or (null) with one that is not named. */
export function searchWith(drill: DrillState, { id, name }: Searcher, set: string | null, values: Partial<Receiver>): void {
  write(drill, id, name, (one) => Object.assign(one, { set, receiver: { ...one.receiver, ...values } }), null)
}

function write(drill: DrillState, id: string, name: string, change: (one: Searcher) => unknown, what: string | null): void {
  drill.change(
    say('group.didChange', { name }),
    (draft) => {
      const one = draft.searchers.find((searcher) => searcher.id === id)
      if (one) change(one)
    },
    what && `searcher ${id} ${what}`,
  )
}

/** Make it so many people: new ones are added, the last ones go. */
export function resize(drill: DrillState, count: number): void {
  drill.change(say('group.didResize', { n: count }), (draft: DrillDocument) => {
    while (draft.searchers.length < count) draft.searchers.push(newSearcher(freeName(draft.searchers), draft.searchers))
    draft.searchers.splice(count)
  })
}
