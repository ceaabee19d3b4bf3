import { describe, expect, it } from 'vitest'

import type { Finding, Piece } from '../document'
import { grouped, groupOf } from '../groups'
import { groupTime } from '../grouptime'
import { peopleOf } from '../people'
import { searchedUntil, sweptEnd, sweptStep } from '../sweeping'
import { momentOf, zoneOf } from '../zone'
import { made, madeBurial, madePhase, madeSearcher } from './made'

const finding = (part: Partial<Finding>): Finding => ({
  kind: 'idle',
  text: { code: 'verbatim', values: { text: 'x' } },
  numbers: {},
  searcher: null,
  burial: null,
  phase: null,
  at_s: null,
  position_m: null,
  minutes: null,
  confidence: { code: 'confidence.clear' },
  praise: false,
  group: null,
  exercise: null,
  ...part,
})

describe('the findings', () => {
  it('stand in the group that the program told, else by praise and minutes', () => {
    expect(groupOf(finding({ group: 'cost' }))).toBe('cost')
    expect(groupOf(finding({ praise: true }))).toBe('good')
    expect(groupOf(finding({ minutes: 2 }))).toBe('cost')
    expect(groupOf(finding({ group: 'of another version' }))).toBe('noted')
  })

  it('keep their number in the whole list', () => {
    const groups = grouped([finding({}), finding({ minutes: 1 }), finding({})])
    expect(groups.map(({ group, members }) => [group, members.map(({ index }) => index)])).toEqual([
      ['cost', [1]],
      ['noted', [0, 2]],
    ])
  })
})

describe('the time of the group', () => {
  it('ends with the last free airway, else with the last strike, and is none where a burial was not reached', () => {
    const [a, b] = [madeBurial({ id: 'A', struck_s: 200, clear_s: 600 }), madeBurial({ id: 'B', struck_s: 300 })]
    expect(groupTime(made({ burials: [a], run: { ...made({}).run, end_s: 900 } }))).toEqual({ until: 'clear', seconds: 600 })
    expect(groupTime(made({ burials: [a, b] }))).toEqual({ until: 'struck', seconds: 300 })
    expect(groupTime(made({ burials: [a, madeBurial({ id: 'C' })] }))).toBeNull()
    expect(groupTime(made({}))).toBeNull()
  })
})

describe('swept ground', () => {
  const pieces: Piece[] = [{ t_s: [0, 50, 100], position_m: [[0, 0], [5, 0], [5, 50]] }]
  const searcher = madeSearcher({
    id: 's',
    track: { points: 3, seconds: 100, length_m: 55, length_uncertainty_m: null, raw_length_m: 55, accuracy_m: 1, white_m: 1, bias_m: 1, file: '', clock_shift_s: 0, notes: [], pieces },
    phases: [madePhase({ phase: 'signal', start_s: 0, end_s: 80 }), madePhase({ phase: 'coarse', start_s: 80, end_s: 100 })],
  })
  const people = peopleOf(made({ searchers: [searcher] }))

  it('grows with signal search and with nothing else', () => {
    expect(sweptEnd(people)).toBe(80)
    expect(searchedUntil(people, 0)).toBe('')
    expect(searchedUntil(people, 25)).toContain('2.5')
    expect(searchedUntil(people, 100)).toBe(searchedUntil(people, 80))
    expect([sweptStep(4.9), sweptStep(5)]).toEqual([0, 5])
  })

  it('ends for nobody where nobody searched', () => {
    expect(sweptEnd(peopleOf(made({ searchers: [madeSearcher({ id: 's' })] })))).toBeNull()
  })
})

describe('moments', () => {
  const run = { ...made({}).run, zone: 'Europe/Oslo' }
  it('are told in the zone of the ground, in UTC on demand, and never fail for a zone nobody knows', () => {
    expect(momentOf({ run }, '2026-02-14T09:30:00Z', false)).toEqual({ day: '14 February 2026', time: '10:30 CET', whose: 'Europe/Oslo' })
    expect(momentOf({ run }, '2026-02-14T09:30:00Z', true)).toEqual({ day: '14 February 2026', time: '09:30 UTC', whose: '' })
    expect(momentOf({ run: { ...run, zone: null } }, '2026-02-14T09:30:00Z', false)?.whose).toBe('your own time zone')
    expect(zoneOf({ run: { zone: 'Hollow/Larch' } })).toBeUndefined()
    expect(momentOf({ run }, null, false)).toBeNull()
  })
})
