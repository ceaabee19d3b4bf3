/** The plan of a debrief as a table: who was where when, and where the burials are. */
import { rounded, type Table } from '../../charts/csv'
import type { DebriefState } from '../state.svelte'

export function tableOf({ document, people }: DebriefState): Table {
  const tracks = people.flatMap((person) =>
    person.pieces.flatMap((piece) => piece.t_s.map((t_s, i) => ['track', person.name, rounded(t_s, 1), rounded(piece.position_m[i]?.[0] ?? NaN, 2), rounded(piece.position_m[i]?.[1] ?? NaN, 2)] as const)),
  )
  const burials = document.burials.map(({ id, position_m: [east, north] }) => ['burial', id, null, rounded(east, 2), rounded(north, 2)] as const)
  const boundary = document.site.boundary_m.map(([east, north]) => ['boundary', '', null, rounded(east, 2), rounded(north, 2)] as const)
  return { head: ['what', 'name', 't_s', 'east_m', 'north_m'], rows: [...boundary, ...burials, ...tracks] }
}
