import { describe, expect, it } from 'vitest'

import { History } from '../../api/history'
import { produce } from '../../api/produce'
import { complete, type DrillDocument, type DrillFile } from '../document'
import { DrillState, type Kept } from '../state.svelte'

/** A LiveRecord without a service. */
class Memory implements Kept {
  form: { document: DrillFile }
  told: (number | undefined)[] = []
  private readonly history = new History<{ document: DrillFile }>()
  private held = false

  constructor(document: DrillFile) {
    this.form = { document }
  }

  get undoLabel(): string | null {
    return this.history.undoLabel
  }

  get redoLabel(): string | null {
    return this.history.redoLabel
  }

  change(label: string, edit: (draft: { document: DrillFile }) => void, gesture: string | null = null): void {
    const after = produce(this.form, edit)
    if (after === this.form) return
    this.history.note(this.form, label, gesture)
    this.put(after)
  }

  hold(on: boolean): void {
    this.held = on
    if (on) return
    this.history.endGesture()
    this.put(this.form)
  }

  abandon(gesture: string): void {
    this.put(this.history.abandon(gesture) ?? this.form)
    this.hold(false)
  }

  undo(): void {
    this.put(this.history.undo(this.form) ?? this.form)
  }

  redo(): void {
    this.put(this.history.redo(this.form) ?? this.form)
  }

  private put(form: { document: DrillFile }): void {
    this.form = form
    if (!this.held) this.told.push(form.document.burials[0]?.position_m[0])
  }
}

const stored = (): DrillFile => ({
  format: 'coldfield-drill/1',
  name: 'Two',
  site: {
    origin: { latitude_deg: 61, longitude_deg: 8, elevation_m: 1000 },
    boundary_m: [[0, 0], [60, 0], [60, 80]],
    entry_m: [30, 0],
  },
  burials: [
    { id: 'A', position_m: [20, 10], depth_m: 0.8, transmitter: null },
    { id: 'B', position_m: [40, 20], depth_m: 1.2, transmitter: null },
  ],
  searchers: [{ id: 's1', name: 'Ines', receiver: { coaxial_range_m: 40 } }],
} as unknown as DrillFile)
const file = (): DrillDocument => complete(stored())
const begun = (): [DrillState, Memory] => {
  const memory = new Memory(stored())
  return [new DrillState(memory), memory]
}

const place = (drill: DrillState, i = 0): number | undefined => drill.document.burials[i]?.position_m[0]
const moveTo = (drill: DrillState, east: number): void =>
  drill.change('move burial A', (draft) => void (draft.burials[0] && (draft.burials[0].position_m = [east, 10])), 'A')

describe('a draft', () => {
  it('keeps what was not touched', () => {
    const before = file()
    const after = produce(before, (draft) => void (draft.burials[1] && (draft.burials[1].depth_m = 2)))
    expect(after.burials[1]?.depth_m).toBe(2)
    expect(before.burials[1]?.depth_m).toBe(1.2)
    expect(after.site).toBe(before.site)
    expect(after.burials[0]).toBe(before.burials[0])
  })

  it('is the same document where nothing changed', () => {
    const before = file()
    expect(produce(before, (draft) => void (draft.name = 'Two'))).toBe(before)
  })

  it('takes lists as a person works on them', () => {
    const after = produce(file(), (draft) => {
      draft.site.boundary_m.splice(1, 0, [30, -5])
      draft.site.boundary_m.push([0, 80])
      draft.burials = draft.burials.filter((burial) => burial.id !== 'A')
      const [b] = draft.burials
      if (b) b.depth_m = 1.5
      draft.site.anchors.push({ name: 'cairn', position_m: [1, 1] })
      for (const anchor of draft.site.anchors) anchor.position_m = [2, 2]
    })
    expect(after.site.boundary_m).toEqual([[0, 0], [30, -5], [60, 0], [60, 80], [0, 80]])
    expect(after.burials).toEqual([{ ...file().burials[1], depth_m: 1.5 }])
    expect(after.site.anchors).toEqual([{ name: 'cairn', position_m: [2, 2] }])
    expect(JSON.parse(JSON.stringify(after))).toEqual(after)
    expect(structuredClone(after)).toEqual(after)
  })

  it('reorders without losing what was changed before', () => {
    const after = produce(file(), (draft) => {
      if (draft.burials[0]) draft.burials[0].depth_m = 3
      draft.burials.reverse()
    })
    expect(after.burials.map((burial) => [burial.id, burial.depth_m])).toEqual([['B', 1.2], ['A', 3]])
  })
})

describe('undo and redo', () => {
  it('go back and forth over everything', () => {
    const [drill] = begun()
    moveTo(drill, 25)
    drill.change('name', (draft) => void (draft.name = 'Three'))
    expect(drill.undoLabel).toBe('name')
    drill.undo()
    drill.undo()
    expect([drill.document.name, place(drill), drill.undoLabel, drill.redoLabel]).toEqual(['Two', 20, null, 'move burial A'])
    drill.redo()
    drill.redo()
    expect([drill.document.name, place(drill), drill.redoLabel]).toEqual(['Three', 25, null])
  })

  it('take a drag as one step, and Escape puts it back', () => {
    const [drill] = begun()
    drill.begin()
    for (const east of [21, 22, 23]) moveTo(drill, east)
    drill.end()
    drill.begin()
    for (const east of [24, 25]) moveTo(drill, east)
    drill.end()
    drill.undo()
    expect(place(drill)).toBe(23)
    drill.begin()
    moveTo(drill, 50)
    drill.cancel()
    expect(place(drill)).toBe(23)
    drill.undo()
    expect([place(drill), drill.undoLabel]).toEqual([20, null])
  })

  it('tell what is to be kept once a drag is over, not while it lasts', () => {
    const [drill, { told }] = begun()
    drill.begin()
    moveTo(drill, 21)
    moveTo(drill, 22)
    expect(told).toEqual([])
    drill.end()
    expect(told).toEqual([22])
    drill.undo()
    expect(told).toEqual([22, 20])
  })
})

describe('a stored drill file', () => {
  it('is completed with the defaults of its schema', () => {
    const { site, burials, searchers, conditions } = file()
    expect(site.holes_m).toEqual([])
    expect(burials[0]).toMatchObject({ antenna: null, outline: 'person' })
    expect(searchers[0]).toMatchObject({ skill: 'practised', probe_length_m: 2.4, shovel: true })
    expect(searchers[0]?.receiver).toMatchObject({ antennas: 3, marking: true })
    expect(conditions.burial_to_alarm_s).toBe(60)
    const whole = file()
    expect(complete(whole as unknown as DrillFile)).toEqual(whole)
    expect(complete(whole as unknown as DrillFile).site).toBe(whole.site)
  })
})
