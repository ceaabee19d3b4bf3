import { expect, it } from 'vitest'

import type { DebriefDocument } from '../document'
import { peopleOf } from '../people'
import { longestOf, yardsticksOf } from '../yardsticks'
import { made, madeBurial, madePhase, madeSearcher } from './made'

function rowsOf(part: Partial<DebriefDocument>) {
  const phases = [
    madePhase({ phase: 'coarse', burial: 'A', start_s: 60, end_s: 100 }),
    madePhase({ phase: 'signal', start_s: 0, end_s: 60 }),
  ]
  const document = made({
    burials: [madeBurial({ id: 'A', struck_s: 120 })],
    searchers: [madeSearcher({ id: 's1', name: 'Ines', phases })],
    ...part,
  })
  return yardsticksOf(document, peopleOf(document))
}

it('holds nothing against a run where nothing was given', () => {
  expect(rowsOf({})).toEqual([])
})

it('puts rehearsal, earlier runs and standard beside what each person took', () => {
  const rows = rowsOf({
    bands: [
      { phase: 'probe', burial: 'A', p10: 10, p50: 20, p90: 90, runs: 20, scatter: null },
      { phase: 'coarse', burial: 'A', p10: 20, p50: 30, p90: 50, runs: 20, scatter: null },
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
