/** The searchers: new people, their ids, and changes with names for undo. */
import { say } from '../../words'
import { RECEIVER, SEARCHER, SKILLS, type DrillDocument, type Receiver, type Searcher, type SkillName } from '../document'
import type { DrillState } from '../state.svelte'

export const MOST_SEARCHERS = 60

/** A new searcher: practised, with a set that reaches 40 m, a probe and a shovel. */
export function newSearcher(name: string, searchers: readonly Searcher[]): Searcher {
  const ids = searchers.map(({ id }) => id)
  return {
    id: freeId(name, ids),
    name,
    ...SEARCHER,
    receiver: { ...RECEIVER, coaxial_range_m: 40 },
  }
}

/** A short unique id from a name: 'yuki', 'yuki-2'. */
export function freeId(name: string, taken: readonly string[]): string {
  const plain = name.normalize('NFKD').replace(/\p{M}/gu, '').toLowerCase()
  const short = plain.replace(/[^\p{L}\p{N}]+/gu, '-').replace(/^-|-$/g, '').slice(0, 30) || 's'
  for (let n = 1; ; n++) {
    const id = n === 1 ? short : `${short}-${n}`
    if (!taken.includes(id)) return id
  }
}

/** 'Searcher 3': a name that is not used yet. */
export function freeName(searchers: readonly Searcher[]): string {
  for (let n = searchers.length + 1; ; n++) {
    const name = say('group.searcher', { n })
    if (!searchers.some((one) => one.name === name)) return name
  }
}

/** The named skill of a searcher, or null if the drill file gives the group's own figures. */
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

/** Let a searcher use this set of the kit, or (null) an unnamed one. */
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

/** Set the number of people: new ones are added, or the last ones removed. */
export function resize(drill: DrillState, count: number): void {
  drill.change(say('group.didResize', { n: count }), (draft: DrillDocument) => {
    while (draft.searchers.length < count) draft.searchers.push(newSearcher(freeName(draft.searchers), draft.searchers))
    draft.searchers.splice(count)
  })
}
