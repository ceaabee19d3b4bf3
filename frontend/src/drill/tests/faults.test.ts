import { expect, it } from 'vitest'

import type { DrillDocument } from '../document'
import { faultInWords } from '../faults'

const document = {
  burials: [{ id: 'A' }, { id: 'B' }],
  searchers: [{ name: 'Ines' }],
  site: { anchors: [{ name: 'cairn' }] },
} as unknown as DrillDocument

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
