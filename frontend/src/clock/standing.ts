/** The people and burials of a run on the day, and the state of a burial. */
import { NEXT_SPLITS, type Burial, type Person, type Run } from './items'
import type { RunState } from './reduce'

export interface Buried extends Burial {
  state: 'as planned' | 'moved' | 'dropped' | 'added'
  words: string
}

const BARE = { position_m: null, depth_m: null, azimuth_deg: null, tilt_deg: null, has_set: true, set: null }

/** The burials of the plan and then those added on the phone, each as it is on the day. */
export function burialsOf(run: Run | null, state: RunState): Buried[] {
  const planned = run?.burials ?? []
  const added = [...state.burials.values()].filter((item) => !planned.some((burial) => burial.id === item.burial))
  return [...planned, ...added.map((item) => ({ ...BARE, id: item.burial }))].map((burial) => {
    const told = state.burials.get(burial.id)
    return { ...burial, state: told?.state ?? 'as planned', words: told?.words ?? '' }
  })
}

export const hiddenToday = (burials: readonly Buried[]): Buried[] => burials.filter((burial) => burial.state !== 'dropped')

export function peopleOf(run: Run | null, state: Pick<RunState, 'searchers'>): Person[] {
  const planned = run?.searchers ?? []
  const added = [...state.searchers].filter(([id]) => !planned.some((person) => person.id === id))
  return [...planned, ...added.map(([id, name]) => ({ id, name, set: null }))]
}

export type Next = (typeof NEXT_SPLITS)[number]

/** The next split at a burial: the one after the latest in the usual order; null once the set is out and off. */
export function nextSplit(state: RunState, burial: string): Next | null {
  return NEXT_SPLITS[reached(state, burial) + 1] ?? null
}

/** The progress of a burial: an index in `NEXT_SPLITS`, -1 before the first. */
export function reached(state: RunState, burial: string): number {
  const known: readonly string[] = NEXT_SPLITS
  return Math.max(-1, ...state.splits.filter((row) => row.burial === burial).map((row) => known.indexOf(row.split)))
}

/** The hidden sets that have to come back: one for every burial with a set that was not dropped. */
export function setsOut(run: Run | null, state: RunState): { burial: Buried; set: string | null; state: 'out' | 'in' | 'missing' | 'switched off' | 'reported' }[] {
  return hiddenToday(burialsOf(run, state))
    .filter((burial) => burial.has_set || state.hidden.has(burial.id))
    .map((burial) => ({
      burial,
      set: state.hidden.get(burial.id)?.set ?? burial.set ?? null,
      state: state.sets.get(burial.id)?.state ?? 'out',
    }))
}
