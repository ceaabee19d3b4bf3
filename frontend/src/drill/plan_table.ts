/** The plan of a drill as a table: metres east and north of the site's origin. */
import { rounded, type Table } from '../charts/csv'
import type { DrillDocument } from './document'

export function planTable({ site, burials }: DrillDocument): Table {
  const place = (what: string, name: string, [east, north]: readonly [number, number], more: (number | null)[] = []): (string | number | null)[] => [what, name, rounded(east, 2), rounded(north, 2), ...more]
  return {
    head: ['what', 'name', 'east_m', 'north_m', 'depth_m', 'azimuth_deg', 'tilt_deg'],
    rows: [
      ...site.boundary_m.map((at) => place('boundary', '', at)),
      ...site.holes_m.flatMap((hole, i) => hole.map((at) => place('hole', String(i + 1), at))),
      place('entry', '', site.entry_m),
      ...(site.last_seen_m ? [place('last seen', '', site.last_seen_m)] : []),
      ...site.anchors.map((anchor) => place('anchor', anchor.name, anchor.position_m)),
      ...burials.map((one) => place('burial', one.id, one.position_m, [one.depth_m, one.antenna?.azimuth_deg ?? null, one.antenna?.tilt_deg ?? null])),
    ],
  }
}
