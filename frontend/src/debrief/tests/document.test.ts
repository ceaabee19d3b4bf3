import { describe, expect, it } from 'vitest'

import { parseDocument, readDocument } from '../document'

const least = {
  format: 'coldfield-debrief/1',
  run: {},
  site: { boundary_m: [[0, 0], [10, 0], [10, 10]] },
}

describe('reading a debrief', () => {
  it('fills what a debrief may lack', () => {
    const { document, faults } = readDocument(least)
    expect(faults).toEqual([])
    expect(document?.searchers).toEqual([])
    expect(document?.run).toMatchObject({ alarm_utc: null, end_s: 0, notes: [] })
    expect(document?.swept).toBeNull()
  })

  it('names every fault with its place, all at once', () => {
    const { faults } = readDocument({
      ...least,
      title: 7,
      burials: [{ id: 'A', position_m: [1] }],
      searchers: [{ id: 's1', track: { pieces: [{ t_s: [0, 'x'], position_m: [[0, 0]] }] } }],
    })
    expect(faults).toEqual([
      'title: must be a text',
      'burials[0].position_m: must be a place: [east, north] in metres',
      'searchers[0].track.pieces[0].t_s[1]: must be a finite number',
    ])
  })

  it('refuses another format, and times without positions', () => {
    expect(readDocument({ ...least, format: 'coldfield-debrief/2' }).faults[0]).toContain('coldfield-debrief/1')
    const uneven = { ...least, searchers: [{ id: 's1', track: { pieces: [{ t_s: [0, 1], position_m: [[0, 0]] }] } }] }
    expect(readDocument(uneven).faults).toEqual([
      'searchers[0].track.pieces[0]: must have as many times as positions',
    ])
    const twins = { ...least, burials: [{ id: 'A', position_m: [1, 1] }, { id: 'A', position_m: [2, 2] }] }
    expect(readDocument(twins).faults).toEqual(["burials[1].id: 'A' stands there twice"])
    expect(readDocument(null).document).toBeNull()
    expect(readDocument({ ...least, site: { boundary_m: [[0, 0]] } }).faults).toHaveLength(1)
  })

  it('says so when nothing, or something cut short, is embedded', () => {
    expect(parseDocument(' ').faults).toEqual(['no debrief is embedded in this page'])
    expect(parseDocument('{"format":').faults[0]).toContain('cut short')
  })
})
