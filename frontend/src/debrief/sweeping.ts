/** Swept ground over time: the walks in signal search up to a moment. */
import { pathOf } from '../plan/polyline'
import type { Person } from './people'
import { walkedUntil } from './replay'

/** Swept ground is redrawn at most this often, in seconds of the run. */
const STEP_S = 5

/** The moment up to which swept ground is drawn. */
export const sweptStep = (t_s: number): number => Math.floor(t_s / STEP_S) * STEP_S

/** When signal search was over for everybody; null if nobody searched. */
export function sweptEnd(people: readonly Person[]): number | null {
  const ends = people.flatMap(({ pieces, searcher }) =>
    pieces.length ? searcher.phases.filter(({ phase }) => phase === 'signal').map(({ end_s }) => end_s) : [],
  )
  return ends.length ? Math.max(...ends) : null
}

/** The lines walked in signal search up to a moment, as one path. */
export function searchedUntil(people: readonly Person[], t_s: number): string {
  return people
    .flatMap(({ drawn, searcher }) =>
      searcher.phases
        .filter(({ phase, start_s }) => phase === 'signal' && start_s < t_s)
        .map(({ start_s, end_s }) => pathOf(walkedUntil(drawn, Math.min(end_s, t_s), start_s))),
    )
    .join('')
}
