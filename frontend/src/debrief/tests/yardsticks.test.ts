import { expect, it } from 'vitest'

import { readDocument } from '../document'
import { peopleOf } from '../people'
import { longestOf, yardsticksOf } from '../yardsticks'

function rowsOf(part: object) {
  const { document } = readDocument({
    format: 'coldfield-debrief/1',
    run: {},
    site: { boundary_m: [[0, 0], [10, 0], [10, 10]] },
    burials: [{ id: 'A', position_m: [1, 1], struck_s: 120, clear_s: null }],
    searchers: [
      {
        id: 's1',
        name: 'Ines',
        phases: [
          { phase: 'coarse', burial: 'A', start_s: 60, end_s: 100 },
          { phase: 'signal', burial: null, start_s: 0, end_s: 60 },
        ],
      },
    ],
    ...part,
  })
  if (!document) throw new Error('not read')
  return yardsticksOf(document, peopleOf(document))
}

it('holds nothing against a run where nothing was given', () => {
  expect(rowsOf({})).toEqual([])
})

it('puts rehearsal, earlier runs and standard beside what each person took', () => {
  const rows = rowsOf({
    bands: [
      { phase: 'probe', burial: 'A', p10: 10, p50: 20, p90: 90 },
      { phase: 'coarse', burial: 'A', p10: 20, p50: 30, p90: 50 },
    ],
    earlier: [{ phase: 'coarse', times: 3, best_s: 25, p50_s: 44 }],
    standards: [{ what: 'strike', most_s: 240 }],
  })
  expect(rows.map(({ what, burial }) => [what, burial])).toEqual([
    ['coarse', 'A'],
    ['probe', 'A'],
    ['strike', null],
  ])
  expect(rows[0]).toMatchObject({
    marks: [{ initials: 'IN', seconds: 40 }],
    band: { p10: 20, p50: 30, p90: 50 },
    earlier: { times: 3 },
    standard_s: null,
  })
  expect(rows[2]).toMatchObject({ marks: [{ words: 'A', seconds: 120 }], standard_s: 240 })
  expect(longestOf(rows)).toBe(240)
})
