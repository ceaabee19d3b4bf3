import { expect, it } from 'vitest'

import { csvOf } from '../../charts/csv'
import { complete } from '../document'
import { planTable } from '../plan_table'

it('tells every place that the plan shows, with no formula in a name', () => {
  const site = { origin: { latitude_deg: 61, longitude_deg: 8, elevation_m: 0 }, boundary_m: [[0, 0], [60, 0], [60, 80]], entry_m: [30, 1.005], anchors: [{ name: '=cairn', position_m: [0, 0] }] }
  const drill = complete({ format: 'coldfield-drill/1', name: 'x', site, burials: [{ id: 'A', position_m: [22.25, 41], depth_m: 1, antenna: { azimuth_deg: 60, tilt_deg: 15 } }], searchers: [] } as never)
  const lines = csvOf(planTable(drill)).trim().split('\n')
  expect(lines).toHaveLength(7)
  expect(lines.slice(-2)).toEqual(["anchor,'=cairn,0,0", 'burial,A,22.25,41,1,60,15'])
})
