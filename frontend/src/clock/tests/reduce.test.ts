import { readFileSync } from 'node:fs'

import { describe, expect, it } from 'vitest'

import type { Item } from '../items'
import { reduceRun } from '../reduce'

interface Example {
  what: string
  items: Item[]
  expect: {
    alarm_ms: number
    shifts: Record<string, number | null>
    splits: [string, string, string | null, string | null, number][]
    aside: string[]
    undone: string[]
    closed: boolean
    stopped: boolean
    sets?: Record<string, string>
    hidden_depth_m?: Record<string, number>
    dug_depth_m?: Record<string, number>
    ticks?: Record<string, boolean>
  }
}

// The same examples hold the program's reader: docs/day_file.md.
const examples = JSON.parse(readFileSync(new URL('../../../../tests/data/day/examples.json', import.meta.url), 'utf8')) as Example[]

function mixed(items: readonly Item[], seed: number): Item[] {
  let state = seed
  const next = (): number => (state = (state * 1103515245 + 12345) % 2147483648) / 2147483648
  // Some come twice.
  const all = [...items, ...items.filter(() => next() < 0.4)]
  return all.map((item) => ({ item, at: next() })).sort((a, b) => a.at - b.at).map(({ item }) => item)
}

describe.each(examples)('$what', ({ items, expect: wanted }) => {
  it.each([0, 1, 2, 3, 4, 5, 6, 7])('comes to the same in any order, however often (%i)', (seed) => {
    const state = reduceRun(seed ? mixed(items, seed) : items)
    expect(state.alarm_ms).toBe(wanted.alarm_ms)
    expect(Object.fromEntries(state.shifts.map((one) => [one.phone, one.shift_ms]))).toEqual(wanted.shifts)
    expect(state.splits.map((row) => [row.id, row.split, row.burial, row.searcher, row.since_alarm_s])).toEqual(wanted.splits)
    expect(state.left.filter((row) => row.why === 'aside').map((row) => row.id)).toEqual(wanted.aside)
    expect(state.left.filter((row) => row.why === 'undone').map((row) => row.id)).toEqual(wanted.undone)
    expect([state.close !== null, state.stop !== null]).toEqual([wanted.closed, wanted.stopped])
    if (wanted.sets) expect(Object.fromEntries([...state.sets].map(([id, item]) => [id, item.state]))).toEqual(wanted.sets)
    if (wanted.hidden_depth_m) expect(Object.fromEntries([...state.hidden].map(([id, item]) => [id, item.depth_m]))).toEqual(wanted.hidden_depth_m)
    if (wanted.dug_depth_m) expect(Object.fromEntries([...state.dugOut].map(([id, item]) => [id, item.depth_m]))).toEqual(wanted.dug_depth_m)
    if (wanted.ticks) expect(Object.fromEntries(state.ticks)).toEqual(wanted.ticks)
  })
})
