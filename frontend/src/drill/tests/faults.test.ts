import { expect, it } from 'vitest'

import type { DrillDocument } from '../document'
import { saidText } from '../../words'
import { faultInWords } from '../faults'

const document = {
  burials: [{ id: 'A' }, { id: 'B' }],
  searchers: [{ name: 'Ines' }],
  site: { anchors: [{ name: 'cairn' }] },
} as unknown as DrillDocument

it('says how far off the ground something lies, and on which side', () => {
  const square = [[0, 0], [60, 0], [60, 80], [0, 80]]
  const drill = (position_m: number[], holes_m: number[][][] = []): DrillDocument =>
    ({ burials: [{ id: 'A', position_m }], searchers: [], site: { boundary_m: square, holes_m, anchors: [] } }) as unknown as DrillDocument
  const fault = { code: 'fault.outside_boundary', values: {}, place: ['document.burials[0].position_m'] } as never
  const words = (...given: Parameters<typeof drill>): string => saidText(faultInWords(fault, drill(...given))).replaceAll('\u00a0', ' ')
  expect(words([-16, 40])).toBe('Burial A: 16 m west of the ground: drag it inside.')
  expect(words([63, 84])).toBe('Burial A: 5.0 m north-east of the ground: drag it inside.')
  expect(words([15, 15], [[[10, 10], [20, 10], [20, 20], [10, 20]]])).toBe('Burial A: on ground that is left out: drag it off that ground.')
})

it.each([
  ['burials[1].depth_m: must be above 0', 'Burial B, Depth: must be above 0'],
  ['document.burials[0].position_m: (1, 2) lies outside', 'Burial A, place: (1, 2) lies outside'],
  ['document: burials[1].position_m: lies outside', 'Burial B, place: lies outside'],
  ['searchers[0].receiver: give either', 'Ines, Hears a set on the axis at: give either'],
  ['site.boundary_m: crosses itself', 'Boundary: crosses itself'],
  ['burials[0].position_m: lies in site.holes_m[1], which', 'Burial A, place: lies in Left out 2, which'],
  ['site.holes_m[0]: must lie inside', 'Left out 1: must lie inside'],
  ['site.anchors[0].name: stands twice', 'cairn: stands twice'],
  ['the whole file: is odd', 'the whole file: is odd'],
])('says %s as %s', (fault, words) => {
  expect(faultInWords(fault, document)).toBe(words)
})
