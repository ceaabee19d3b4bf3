import { readdirSync, readFileSync } from 'node:fs'

import { describe, expect, it } from 'vitest'

import { carried, en } from '../../words/disk'
import { lookAt, SPREAD_M, withinSpread } from '../checking'
import { survivalAt } from '../curve'
import { readRuns, writeDayFile } from '../day_file'
import { waitingOf } from '../day.svelte'
import { elapsed, typedNumber, typedSeconds } from '../figures'
import { codeOf, newId, newRunId, runIdOf, typedCode } from '../ids'
import type { Fresh, Item, Run } from '../items'
import { reduceRun } from '../reduce'
import { burialsOf, nextSplit, setsOut } from '../standing'
import { PageStore, stamped } from '../store'

const AT = { wall_ms: 1771061400000, page: 'g1', since_page_ms: 10 }
const split = (name: string, burial: string | null): Fresh => ({ kind: 'split', split: name, burial, searcher: null, aside: false })

function kept(of: string, ...pressed: [Fresh, number][]): Item[] {
  const items: Item[] = []
  for (const [fresh, ms] of pressed) items.push(stamped(of, fresh, { ...AT, wall_ms: AT.wall_ms + ms, since_page_ms: ms }, 'p1', items))
  return items
}

describe('what is kept', () => {
  it('numbers items without a gap, each with its own id', () => {
    const items = kept('r', [{ kind: 'alarm' }, 0], [split('first_signal', 'A'), 1000], [{ kind: 'stop' }, 2000])
    expect(items.map((item) => item.n)).toEqual([1, 2, 3])
    expect(new Set(items.map((item) => item.id)).size).toBe(3)
  })

  it('keeps an equal split within 2 s aside, and nothing else', () => {
    const items = kept('r', [{ kind: 'alarm' }, 0], [split('first_signal', 'A'), 1000], [split('first_signal', 'A'), 2999], [split('first_signal', 'B'), 3000], [split('first_signal', 'A'), 3001], [split('within_10_m', 'A'), 3100])
    const state = reduceRun(items)
    expect(state.left.map((row) => [row.id, row.why])).toEqual([[items[2]?.id, 'aside']])
    expect(state.splits.map((row) => row.since_alarm_s)).toEqual([1, 3, 3.001, 3.1])
  })

  it('counts an undone split as not there, so the same press counts again at once', () => {
    const items = kept('r', [split('first_signal', 'A'), 0])
    const undone = kept('r', [split('first_signal', 'A'), 0])
    undone.push(stamped('r', { kind: 'undo', item: undone[0]?.id ?? '' }, { ...AT, wall_ms: AT.wall_ms + 500 }, 'p1', undone))
    expect(stamped('r', split('first_signal', 'A'), { ...AT, wall_ms: AT.wall_ms + 900 }, 'p1', items)).toMatchObject({ aside: true, n: 2 })
    expect(stamped('r', split('first_signal', 'A'), { ...AT, wall_ms: AT.wall_ms + 900 }, 'p1', undone)).toMatchObject({ aside: false, n: 3 })
  })

  it('waits until the keeper says that it was brought back, and again for what came later', () => {
    const items = kept('r', [{ kind: 'alarm' }, 0], [split('first_signal', 'A'), 1000])
    expect(waitingOf('r', items, 'p1', '').items).toBe(2)
    items.push(stamped('r', { kind: 'brought', upto: 2 }, AT, 'p1', items))
    expect(waitingOf('r', items, 'p1', '').items).toBe(0)
    items.push(stamped('r', { kind: 'note', words: 'late', burial: null }, AT, 'p1', items))
    expect(waitingOf('r', items, 'p1', '')).toMatchObject({ items: 1, upto: 4 })
  })

  it('says where nothing lasts', async () => {
    const store = new PageStore()
    expect(store.lasts).toBe(false)
    await store.add('r', { kind: 'alarm' }, AT)
    expect((await store.load()).items).toHaveLength(1)
  })
})

const RUN: Run = {
  line: 'run', id: 'run-1', name: 'Übung ‚Süd‘', prepared: true, drill_id: null, drill_version: null, drill_name: '', anchors: [], boundary_m: null, entry_m: null,
  burials: [{ id: 'A', position_m: [3, 4], depth_m: 0.8, azimuth_deg: 0, tilt_deg: 0, has_set: true, set: 'HL-03' }, { id: 'B', position_m: null, depth_m: null, azimuth_deg: null, tilt_deg: null, has_set: false, set: null }],
  searchers: [], own_splits: [], agreed_word: '', emergency_number: '', own_cautions: [], curve: null, picture: null,
}

describe('a run', () => {
  it('goes on to the split after the latest, also where one was left out', () => {
    const state = reduceRun(kept('r', [split('first_signal', 'A'), 0], [split('lowest_reading', 'A'), 9000], [split('my own', 'A'), 12000]))
    expect(nextSplit(state, 'A')).toBe('probe_strike')
    expect(nextSplit(state, 'B')).toBe('first_signal')
    expect(nextSplit(reduceRun(kept('r', [split('set_out', 'A'), 0])), 'A')).toBeNull()
  })

  it('counts the sets of burials that were hidden today', () => {
    const state = reduceRun(kept('r', [{ kind: 'burial', burial: 'C', state: 'added', words: '' }, 0], [{ kind: 'burial', burial: 'A', state: 'dropped', words: '' }, 1], [{ kind: 'set', burial: 'C', set: null, state: 'in', by: '' }, 2]))
    expect(burialsOf(RUN, state).map((one) => [one.id, one.state])).toEqual([['A', 'dropped'], ['B', 'as planned'], ['C', 'added']])
    // A was not hidden, B has no set.
    expect(setsOut(RUN, state).map((one) => [one.burial.id, one.state])).toEqual([['C', 'in']])
  })
})

describe('the day file on the phone', () => {
  const text = writeDayFile({ made_ms: 1, phone: { line: 'phone', id: 'p1', name: '', keeper: 'Inès' }, runs: [RUN], items: kept('run-1', [{ kind: 'alarm' }, 0]) })

  it('gives back the run it was written with', () => {
    expect(readRuns(text)).toEqual([RUN])
    expect(readRuns('\ufeff' + text.replaceAll('\n', '\r\n'))).toEqual([RUN])
  })

  it('does not carry the picture of the ground back', () => {
    const picture = { address: 'data:image/webp;base64,AA==', width_px: 1, height_px: 1, matrix: [1, 0, 0, 0, -1, 0], shown: 0.7 }
    const phone = { line: 'phone', id: 'p1', name: '', keeper: '' } as const
    expect(readRuns(writeDayFile({ made_ms: 1, phone, runs: [{ ...RUN, picture }], items: [] }))).toEqual([RUN])
  })

  it('takes nothing of a file that was cut short, changed, newer, or is another file', () => {
    expect(readRuns(text.slice(0, -40))).toBe('changed')
    expect(readRuns(text.replace('HL-03', 'HL-08'))).toBe('changed')
    expect(readRuns(text.replace('coldfield-day/1', 'coldfield-day/2'))).toBe('newer')
    expect(readRuns('time,split')).toBe('not a day file')
    expect(readRuns('x'.repeat(4_000_001))).toBe('too large')
  })
})

describe('the group check', () => {
  // EN 300 718-1, from memory: 0.5 to 2.23 uA/m at 10 m on the axis. A reading r goes with 1 / r^3 of the field.
  it('takes the spread of legal sets from the permitted fields', () => {
    expect((1 / 2.23) ** (1 / 3)).toBeCloseTo(SPREAD_M.from, 2)
    expect((1 / 0.5) ** (1 / 3)).toBeCloseTo(SPREAD_M.to, 2)
    expect([0.66, 0.67, 1, 1.36, 1.37].map(withinSpread)).toEqual([false, true, true, true, false])
  })

  it('says only what should be looked at', () => {
    const fine = { battery_percent: 80, errors: false, receives: true, transmits: true, reading_m: 1 }
    expect(lookAt(fine)).toEqual([])
    expect(lookAt({ battery_percent: 39, errors: true, receives: false, transmits: false, reading_m: 2 })).toEqual(['battery', 'errors', 'receives', 'transmits', 'reading'])
    expect(lookAt({ battery_percent: null, errors: null, receives: null, transmits: null, reading_m: null })).toEqual([])
  })
})

describe('figures', () => {
  it('reads what is typed and shows minutes beyond an hour', () => {
    expect([elapsed(0), elapsed(59.9), elapsed(754), elapsed(3700)]).toEqual(['0:00', '0:59', '12:34', '61:40'])
    expect([typedSeconds('4:20'), typedSeconds(' 260 '), typedSeconds('4:75'), typedSeconds('x')]).toEqual([260, 260, null, null])
    expect([typedNumber('0,8', 0, 10), typedNumber('11', 0, 10), typedNumber('', 0, 10)]).toEqual([0.8, null, null])
  })

  it('reads survival between the points it was given, and nowhere else', () => {
    const curve = { name: 'x', code: null, points: [[0, 1], [10, 0.9], [20, 0.5]], burial_to_alarm_s: 60 }
    expect([survivalAt(curve, 0), survivalAt(curve, 15), survivalAt(curve, 20), survivalAt(curve, 21)]).toEqual([1, 0.7, 0.5, null])
  })

  it('makes ids that stand anywhere, and codes that can be read aloud', () => {
    const now = new Date('2026-02-14T10:00:00Z')
    expect(new Set(Array.from({ length: 2000 }, newId)).size).toBe(2000)
    expect(newId()).toMatch(/^[A-Za-z0-9]{16}$/)
    const code = codeOf(newRunId(now)) ?? ''
    expect(runIdOf(typedCode(` ${code.toLowerCase().slice(0, 3)} ${code.slice(3)}`) ?? '', now)).toBe(`n-20260214-${code}`)
    expect(typedCode('AEIOUY')).toBeNull()
    expect(typedCode('KFTRM')).toBeNull()
  })
})

it('says nothing that its part of the catalogue lacks', () => {
  const here = new URL('../', import.meta.url)
  const files = [...readdirSync(here).filter((name) => /\.(svelte|ts)$/.test(name)).map((name) => new URL(name, here)), new URL('../../runs/split_names.ts', import.meta.url), new URL('../../words/format.ts', import.meta.url)]
  const said = files.flatMap((file) => [...readFileSync(file, 'utf8').matchAll(/'([\w.]+)'/g)].map(([, word]) => word ?? '')).filter((word) => word in en.words)
  expect(said.length).toBeGreaterThan(150)
  expect([...new Set(said)].filter((key) => !carried('clock.html').has(key))).toEqual([])
})

describe.each(['light', 'dark'])('contrast in the %s theme', (theme) => {
  // WCAG 2.2, definitions of relative luminance and contrast ratio; 1.4.6 asks 7:1, here of everything that is read.
  const luminance = (hex: string): number => {
    const [r = 0, g = 0, b = 0] = [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16) / 255).map((part) => (part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4))
    return 0.2126 * r + 0.7152 * g + 0.0722 * b
  }
  const contrast = (a: string, b: string): number => {
    const [low = 0, high = 0] = [luminance(a), luminance(b)].sort((x, y) => x - y)
    return (high + 0.05) / (low + 0.05)
  }
  const parts = ['../../theme/tokens.css', '../clock.css'].map((file) => readFileSync(new URL(file, import.meta.url), 'utf8').split('@media screen')[theme === 'light' ? 0 : 1] ?? '')
  const token = Object.fromEntries(parts.flatMap((part) => [...part.matchAll(/--([\w-]+): (#[0-9a-f]{6})/g)].map(([, name, value]) => [name, value]))) as Record<string, string>

  it.each(['ink', 'quiet', 'ember', 'moss', 'straw'])('%s is read at 7:1 on paper and sheet', (name) => {
    for (const ground of ['paper', 'sheet']) expect(contrast(token[name] ?? '#000000', token[ground] ?? '#000000')).toBeGreaterThanOrEqual(7)
  })

  it('words on the big button are read at 7:1', () => {
    expect(contrast(token['on-ember'] ?? '#ffffff', token['ember'] ?? '#000000')).toBeGreaterThanOrEqual(7)
  })
})
