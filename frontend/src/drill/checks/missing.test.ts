import { expect, it } from 'vitest'

import { say } from '../../words'
import { unbroken } from '../../words/numbers'
import { complete, type DrillDocument } from '../document'
import { ALL_CHECKS, type CheckName } from './lists'
import { lacksOf } from './missing'

const NOTHING = { width: null, rehearsed: null }

function drill(change: (document: DrillDocument) => void = () => undefined): DrillDocument {
  const document = structuredClone(
    complete({
      format: 'coldfield-drill/1',
      name: 'x',
      site: {
        origin: { latitude_deg: 61, longitude_deg: 8, elevation_m: 0 },
        boundary_m: [[0, 0], [60, 0], [60, 80], [0, 80]],
        entry_m: [30, 1],
        anchors: [{ name: 'a', position_m: [0, 0] }, { name: 'b', position_m: [60, 0] }],
      },
      burials: [{ id: 'A', position_m: [22, 41], depth_m: 1, outline: 'sack', transmitter: {} }],
      searchers: [1, 2].map((k) => ({ id: `s${k}`, name: `N${k}`, receiver: { coaxial_range_m: 45 } })),
      conditions: { strip_width_m: 30 },
    } as never),
  )
  change(document)
  return document
}

const parts = (document: DrillDocument): string[] => lacksOf(document, NOTHING).map((lack) => lack.part)

it('finds nothing but the missing rehearsal in a drill that has everything', () => {
  expect(parts(drill())).toEqual(['rehearsal'])
})

it('finds what lies deeper than every probe, who lacks gear, and what lies outside', () => {
  const texts = lacksOf(
    drill((document) => {
      for (const burial of document.burials) burial.depth_m = 3
      for (const one of document.searchers.slice(1)) one.shovel = false
      document.site.entry_m = [300, 0]
    }),
    NOTHING,
  ).map((lack) => lack.text)
  expect(texts).toContain(unbroken('Burial A lies 3.0 m deep; the longest probe reaches 2.4 m.'))
  expect(texts).toContain('1 of 2 have no shovel: N2.')
  expect(texts).toContain('The entry lies outside the ground.')
})

it('lets the entry stand on the edge, wherever on it, and not far outside', () => {
  const entryAt = (entry_m: [number, number]): string[] => parts(drill((document) => void (document.site.entry_m = entry_m)))
  expect(entryAt([30, -3])).toEqual(['rehearsal'])
  expect(entryAt([60.5, 40])).toEqual(['rehearsal'])
  expect(entryAt([30, -8])).toEqual(['ground', 'rehearsal'])
})

it('says every point of the list in words, each point once', () => {
  expect(new Set(ALL_CHECKS).size).toBe(ALL_CHECKS.length)
  for (const name of ALL_CHECKS as CheckName[]) expect(say(`checks.do.${name}`)).not.toContain('checks.do')
})
