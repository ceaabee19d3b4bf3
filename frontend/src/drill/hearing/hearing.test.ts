import { describe, expect, it, vi } from 'vitest'

import { bandOf, bandsOn, hearersOn, onGround, sharesOf, shownOf, silentShare } from './field'
import { Latest } from './latest'
import { joined, piecesAt } from './lines'
import { heardAt, unpack, type HearingMap, type Lattice, type SetHeard } from './packed'

const LATTICE: Lattice = { columns: 3, rows: 2, west_m: 10, south_m: 20, step_m: 2 }

function packed(sets: string[], fill: (k: number, at: number) => [number, number, number, number]): ArrayBuffer {
  const words = { ...LATTICE, burials: sets, searcher: 'ines', searchers: 4, height_m: null }
  let text = JSON.stringify(words)
  text += ' '.repeat((8 - (text.length % 8)) % 8)
  const n = LATTICE.columns * LATTICE.rows
  const buffer = new ArrayBuffer(8 + text.length + 6 * n * sets.length)
  const view = new DataView(buffer)
  new TextEncoder().encodeInto('CHM1', new Uint8Array(buffer, 0, 4))
  view.setUint32(4, text.length, true)
  new TextEncoder().encodeInto(text, new Uint8Array(buffer, 8))
  sets.forEach((_, k) => {
    const start = 8 + text.length + 6 * n * k
    for (let at = 0; at < n; at++) {
      const [reading, margin, direction, by] = fill(k, at)
      view.setUint16(start + 2 * at, reading, true)
      view.setInt16(start + 2 * n + 2 * at, margin, true)
      view.setUint8(start + 4 * n + at, direction)
      view.setUint8(start + 5 * n + at, by)
    }
  })
  return buffer
}

const map = (): HearingMap => unpack(packed(['A', 'B'], (k, at) => [1000 * (k + 1) + 100 * at, 300 - 200 * at + k, k ? 255 : 120, 4 - at > 0 ? 4 - at : 0]))

describe('a packed map', () => {
  it('is read as the service describes it', () => {
    const read = map()
    expect(read.lattice).toEqual(LATTICE)
    expect(read.sets.map(({ id }) => id)).toEqual(['A', 'B'])
    expect([...(read.sets[1]?.reading ?? [])]).toEqual([2000, 2100, 2200, 2300, 2400, 2500])
    expect(read.sets[0]?.margin[5]).toBe(-700)
  })
  it('is refused when it is something else or not whole', () => {
    expect(() => unpack(new ArrayBuffer(20))).toThrow()
    expect(() => unpack(packed(['A'], () => [0, 0, 0, 0]).slice(0, -1))).toThrow()
  })
  it('tells what is heard between its places', () => {
    const [a, b] = map().sets as [SetHeard, SetHeard]
    expect(heardAt(map(), a, [11, 21])).toMatchObject({ heard: false, reading_m: 12, line_deg: 90 })
    expect(heardAt(map(), a, [10, 20])).toMatchObject({ heard: true, reading_m: 10, heardBy: 4 })
    expect(heardAt(map(), b, [10, 20])?.line_deg).toBeNull()
    expect(heardAt(map(), a, [9.9, 20])).toBeNull()
  })
  it('means lines across north, not their numbers', () => {
    const read = unpack(packed(['A'], (_, at) => [1000, 0, at % 3 === 0 ? 2 : 238, 1]))
    const line = heardAt(read, read.sets[0] as SetHeard, [11, 21])?.line_deg ?? 90
    expect(Math.min(line, 180 - line)).toBeCloseTo(0, 6)
  })
})

describe('what is shown', () => {
  it('is the lowest reading of those that are heard', () => {
    const read = unpack(packed(['A', 'B'], (k, at) => (k ? [3000, 100, 0, 4] : [1000, at < 3 ? 50 : -50, 0, 4])))
    expect([...shownOf(read, null).lowest]).toEqual([1000, 1000, 1000, 3000, 3000, 3000])
    expect([...shownOf(read, 'A').margin].map(Math.sign)).toEqual([1, 1, 1, -1, -1, -1])
    expect([999, 1000, 4100].map(bandOf)).toEqual([0, 1, 4])
  })
  it('tells only bands that occur, and who hears something where', () => {
    const read = unpack(packed(['A', 'B'], (k, at) => (k ? [3500, at === 0 ? 100 : -100, 0, at === 0 ? 4 : 0] : [1500, at < 3 ? 50 : -50, 0, at < 3 ? 2 : 0])))
    const all = new Uint8Array(6).fill(1)
    expect(bandsOn(shownOf(read, null), all)).toEqual([1])
    expect(bandsOn(shownOf(read, 'B'), all)).toEqual([3])
    const whole = hearersOn(shownOf(read, null), all)
    expect(whole.all * 6).toBeCloseTo(read.searchers <= 4 ? 1 : 0)
    expect(whole.none * 6).toBeCloseTo(3)
    expect(whole.all + whole.some + whole.none).toBeCloseTo(1)
  })
  it('counts the ground: inside its boundary, outside its holes', () => {
    const lattice: Lattice = { columns: 11, rows: 11, west_m: -0.5, south_m: -0.5, step_m: 1 }
    const ground = onGround(lattice, [[0, 0], [9, 0], [9, 9], [0, 9]], [[[3, 3], [6, 3], [6, 6], [3, 6]]])
    expect(ground.reduce((sum, one) => sum + one, 0)).toBe(81 - 9)
    const set: SetHeard = {
      id: 'A',
      reading: new Uint16Array(121),
      margin: new Int16Array(121).map((_, k) => (k % 11 < 5 ? 1 : -1)),
      direction: new Uint8Array(121),
      heardBy: new Uint8Array(121).map((_, k) => (k % 11 < 2 ? 4 : k % 11 < 8 ? 2 : 0)),
    }
    const shares = sharesOf(set, 4, ground)
    expect(shares.byAll).toBeCloseTo(9 / 72)
    expect(shares.byNone).toBeCloseTo(18 / 72)
    const shown = shownOf({ lattice, searcher: 's', searchers: 4, height_m: null, lines: true, plain: false, sets: [set] }, null)
    expect(silentShare(shown, ground)).toBeCloseTo(1 - shares.heard)
  })
  it('draws a circle where the distance is the same', () => {
    const lattice: Lattice = { columns: 41, rows: 41, west_m: -20, south_m: -20, step_m: 1 }
    const distance = Float64Array.from({ length: 41 * 41 }, (_, k) => Math.hypot((k % 41) - 20, Math.floor(k / 41) - 20))
    const pieces = piecesAt(lattice, distance, 12)
    let length = 0
    for (let k = 0; k < pieces.length; k += 4) {
      const [x0, y0, x1, y1] = [...pieces.slice(k, k + 4)] as [number, number, number, number]
      expect(Math.hypot(x0, y0)).toBeCloseTo(12, 1)
      length += Math.hypot(x1 - x0, y1 - y0)
    }
    expect(length).toBeCloseTo(2 * Math.PI * 12, 0)
    const [line, ...more] = joined(pieces)
    expect(more).toEqual([])
    expect(line).toHaveLength(pieces.length / 4 + 1)
    expect(line?.at(-1)).toEqual(line?.[0])
  })
})

describe('asking', () => {
  it('asks one at a time and of what comes meanwhile only the newest', async () => {
    const asked: number[] = []
    const answers: number[] = []
    const open: (() => void)[] = []
    const latest = new Latest<number, number>({
      ask: (n) => new Promise<number>((done) => { asked.push(n); open.push(() => done(n)) }),
      answered: (n) => answers.push(n),
      failed: () => false,
    })
    for (const n of [1, 2, 3, 4]) latest.want(n)
    expect(asked).toEqual([1])
    open[0]?.()
    await vi.waitFor(() => expect(asked).toEqual([1, 4]))
    open[1]?.()
    await vi.waitFor(() => expect(answers).toEqual([1, 4]))
    expect(latest.busy).toBe(false)
  })
  it('does not show an answer that no longer matters', async () => {
    const answers: number[] = []
    const open: (() => void)[] = []
    const latest = new Latest<number, number>({
      ask: (n) => new Promise<number>((done) => open.push(() => done(n))),
      answered: (n) => answers.push(n),
      failed: () => false,
    })
    latest.want(1)
    latest.want(2, true)
    open[1]?.()
    open[0]?.()
    await vi.waitFor(() => expect(answers).toEqual([2]))
  })
  it('asks again, for the newest, where the service gets ready', async () => {
    const asked: number[] = []
    const latest = new Latest<number, number>({
      ask: (n) => { asked.push(n); return asked.length < 3 ? Promise.reject(new Error('503')) : Promise.resolve(n) },
      answered: () => undefined,
      failed: () => true,
      again_ms: 5,
    })
    latest.want(1)
    latest.want(9)
    await vi.waitFor(() => expect(asked).toEqual([1, 9, 9]))
  })
})
