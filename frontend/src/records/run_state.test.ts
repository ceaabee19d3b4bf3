import { describe, expect, it } from 'vitest'

import { nextOf, type Standing, standsOf } from './run_state'

const RUN: Standing = { held_utc: '2026-02-14T09:30:00Z', tracks: 0, splits: 0, debrief_id: null, older_model: false, airway_clear_s: null }
const NOW = Date.parse('2026-03-01T00:00:00Z')
const stands = (run: Partial<Standing>): string => standsOf({ ...RUN, ...run }, NOW).filter(Boolean).join(' · ').replaceAll('\u00a0', ' ')
const next = (run: Partial<Standing>): string | undefined => nextOf({ ...RUN, ...run })?.step

describe('how a run stands', () => {
  it('goes from what is still to come to the debrief, each with the step that comes next', () => {
    expect([stands({ held_utc: '2026-03-07T09:30:00Z' }), next({})]).toEqual(['Still to come', 'splits'])
    expect(stands({})).toBe('Nothing noted yet')
    expect([stands({ splits: 1 }), next({ splits: 1 })]).toEqual(['Begun, not debriefed · 1 split', 'tracks'])
    expect([stands({ tracks: 3, splits: 12 }), next({ tracks: 3 })]).toEqual(['Begun, not debriefed · 3 tracks · 12 splits', 'debrief'])
    expect([stands({ debrief_id: 'd', tracks: 3, airway_clear_s: 580 }), next({ debrief_id: 'd' })]).toEqual(['Debriefed · last airway free after 9 min 40 s', undefined])
  })

  it('asks for another debrief where an older model made it', () => {
    const older = { debrief_id: 'd', older_model: true }
    expect([stands(older), next(older)]).toEqual(['Debriefed · with an older model', 'debrief'])
  })
})
