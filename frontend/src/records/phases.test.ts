import { expect, it } from 'vitest'

import type { SchemaHistoryEntry } from '../api/schema'
import { stripsOf, ticks } from './phases'
import { sketch } from './sketch'

const entry = (over: Partial<SchemaHistoryEntry>): SchemaHistoryEntry => ({
  run_id: 'r',
  held_utc: '2026-02-14T09:30:00.000Z',
  run: 'Run',
  simulated: false,
  drill: 'Drill',
  drill_version: 1,
  course_id: null,
  day_id: null,
  searcher: 's1',
  seconds: {},
  debrief_id: null,
  phases: {},
  older_model: false,
  ...over,
})

it('lays the phases of a debrief one after the other', () => {
  const [strip] = stripsOf([entry({ phases: { A: { dig: 200, signal: 61, fine: 30, coarse: 40 } } })])
  expect(strip?.from).toBe('debrief')
  expect(strip?.pieces.map((piece) => [piece.name, piece.start_s, piece.end_s])).toEqual([
    ['signal', 0, 61],
    ['coarse', 61, 101],
    ['fine', 101, 131],
    ['dig', 131, 331],
  ])
  expect(strip?.total_s).toBe(331)
})

it('marks what another model worked out, and no times of splits', () => {
  const told = { phases: { A: { dig: 200 } }, older_model: true }
  expect(stripsOf([entry(told)])[0]?.older).toBe(true)
  expect(stripsOf([entry({ seconds: { A: { first_signal: 60 } }, older_model: true })])[0]?.older).toBe(false)
})

it('tells from splits only what they tell', () => {
  const seconds = { A: { first_signal: 60, within_10_m: 80, lowest_reading: 120, probe_strike: 150, airway_clear: 500 } }
  const [strip] = stripsOf([entry({ seconds })])
  expect(strip?.from).toBe('splits')
  expect(strip?.pieces.map((piece) => piece.name)).toEqual(['signal', 'approach', 'probe', 'dig'])
  expect(strip?.total_s).toBe(500)
})

it('leaves out what a missing split leaves unknown', () => {
  const [strip] = stripsOf([entry({ seconds: { A: { probe_strike: 150, airway_clear: 500 } } })])
  expect(strip?.pieces.map((piece) => [piece.name, piece.end_s - piece.start_s])).toEqual([['dig', 350]])
})

it('has no strip for a run without times, nor for times of no burial', () => {
  expect(stripsOf([entry({}), entry({ seconds: { '': { alarm: 0 } } }), entry({ seconds: { A: { airway_clear: null } } })])).toEqual([])
})

it('puts few whole minutes on the axis, the last beyond the longest strip', () => {
  expect(ticks(500)).toEqual([0, 2, 4, 6, 8, 10])
  for (const seconds of [1, 59, 600, 3599, 86_400]) {
    expect(ticks(seconds).length).toBeLessThanOrEqual(20)
    expect(ticks(seconds).at(-1)).toBeGreaterThanOrEqual(seconds / 60)
  }
})

it('draws a ground into its square, north up, proportions kept', () => {
  const ground = { boundary_m: [[0, 0], [60, 0], [60, 120], [0, 120]], holes_m: [], entry_m: [30, 0], burials_m: [[30, 120]], searchers: 2 }
  const drawn = sketch(ground, 68)
  expect(drawn.entry).toEqual([34, 64])
  expect(drawn.burials).toEqual([[34, 4]])
  expect(drawn.outline).toBe('M19 64L49 64L49 4L19 4Z')
})
