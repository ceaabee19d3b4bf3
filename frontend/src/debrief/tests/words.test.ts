import { readdirSync, readFileSync } from 'node:fs'

import { expect, it } from 'vitest'

import { saidText, say, verbatim } from '../../words'
import { carried, en } from '../../words/disk'
import { figuresOf } from '../figures'
import { clock, cost, duration, metres, probability, speed, squareMetres } from '../../words/format'
import { unbroken } from '../../words/numbers'
import { readHash, writeHash } from '../hash'

it('writes times and lengths with their unit and no more digits than are known', () => {
  expect([45, 60, 260, 3600, 3900, -20, null].map(duration)).toEqual([
    '45 s', '1 min', '4 min 20 s', '1 h', '1 h 5 min', '−20 s', 'not known',
  ].map(unbroken))
  expect([0.8, 9.96, 12.4].map(metres)).toEqual(['0.8 m', '10 m', '12 m'].map(unbroken))
  expect([1591.6, 310, 18.4, 4.4, 0.3].map(squareMetres)).toEqual(['1,600 m²', '310 m²', '18 m²', '4 m²', '0 m²'].map(unbroken))
  expect([cost(0.7), cost(2.72), cost(0.01)]).toEqual(['40 s', '2 min 40 s', '5 s'].map(unbroken))
  expect([speed(0.94), probability(0.714)]).toEqual(['0.9 m/s', '0.71'].map(unbroken))
})

it('keeps a number and its unit on one line, in what is said and in what is told', () => {
  expect(unbroken('12 m, 4 min 20 s, 30 %, 3 mice, 7 of 9')).toBe('12\u00a0m, 4\u00a0min\u00a020\u00a0s, 30\u00a0%, 3 mice, 7 of 9')
  expect(unbroken('6½ to 14½ min, 1 h 5 min')).toBe('6½ to 14½\u00a0min, 1\u00a0h\u00a05\u00a0min')
  expect(metres(12.4)).toBe('12\u00a0m')
  expect(saidText(verbatim('probe 2 m deep'))).toBe('probe 2\u00a0m deep')
})

it('tells a moment on the clock of the place, the zone said', () => {
  expect(clock('2026-02-14T09:30:00Z', 'UTC')).toEqual({ day: '14 February 2026', time: '09:30 UTC' })
  expect(clock('2026-02-14T23:30:00Z', 'Europe/Zurich')).toEqual({ day: '15 February 2026', time: '00:30 CET' })
  expect(clock('yesterday')).toBeNull()
  expect(clock(null)).toBeNull()
})

it('fills words and chooses the plural', () => {
  expect(say('page.people', { n: 1 })).toBe('1 person')
  expect(say('page.people', { n: 12 })).toBe('12 people')
  expect(say('plan.struck', { id: 'A' })).toBe('A struck')
})

it('keeps what matters in the address', () => {
  const shown = { t_s: 130, who: 's 1&', layers: ['tracks', 'gaps'] as const, finding: 1, wall: true, theme: 'dark' as const }
  expect(readHash(writeHash({ ...shown, layers: [...shown.layers] }))).toEqual(shown)
  expect(readHash('#t=x&finding=0&layers=none&theme=pink')).toEqual({ layers: [] })
  expect(readHash('')).toEqual({})
})

it('writes the figures of a finding with the units of their keys', () => {
  expect(figuresOf({ seconds: 57, uncertainty_s: 10.3, walked_m: 38.12, ratio: 1.0469, speed_m_s: 0.9, holes: 4, note: 'x' })).toEqual([
    { name: 'time', value: unbroken('57 s') },
    { name: 'known to', value: unbroken('10 s') },
    { name: 'walked', value: unbroken('38 m') },
    { name: 'ratio', value: '1.05' },
    { name: 'speed', value: unbroken('0.9 m/s') },
    { name: 'holes', value: '4' },
  ])
})

it('says nothing on the page to hand out that its part of the catalogue lacks', () => {
  const words = ['', 'plan/', 'tables/', 'timeline/', '../plan/', '../words/'].flatMap((folder) => {
    const at = new URL(`../${folder}`, import.meta.url)
    return readdirSync(at).flatMap((name) => (/^(?!.*\.(test|d)\.).*\.(svelte|ts)$/.test(name) ? [...readFileSync(new URL(name, at), 'utf8').matchAll(/'([\w.]+)'/g)].map(([, word]) => word ?? '') : []))
  })
  const said = words.filter((word) => word in en.words)
  expect(said.length).toBeGreaterThan(100)
  expect(said.filter((key) => !carried('debrief.html').has(key))).toEqual([])
})
