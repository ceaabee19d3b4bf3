import { describe, expect, it } from 'vitest'

import type { Phase, Piece, Searcher } from '../document'
import { initialsOf } from '../people'
import { advance, firstHeard, idleAt, nearestHeard, phaseAt, positionAt, walkedUntil } from '../replay'
import { barsOf, rampOf, shareOf, timeStep } from '../ribbon'

const pieces: Piece[] = [
  { t_s: [0, 10, 20], position_m: [[0, 0], [10, 0], [10, 20]] },
  { t_s: [40, 50], position_m: [[0, 0], [0, 10]] },
]

function phase(burial: string | null, name: string, start_s: number, end_s: number): Phase {
  return { burial, phase: name, start_s, end_s, border_uncertainty_s: null, length_m: null, speed_m_s: null, flux_line_ratio: null }
}

function person(part: Partial<Searcher>): Searcher {
  return { id: 's1', name: '', track: null, readings: [], audible: [], approaches: [], phases: [], idle: [], ...part }
}

describe('replay', () => {
  it('interpolates within a piece and knows nothing in a gap', () => {
    expect(positionAt(pieces, 4)).toEqual([4, 0])
    expect(positionAt(pieces, 15)).toEqual([10, 10])
    expect(positionAt(pieces, 20)).toEqual([10, 20])
    expect(positionAt(pieces, 30)).toBeNull()
    expect(positionAt(pieces, -1)).toBeNull()
    expect(positionAt(pieces, 60)).toBeNull()
    expect(positionAt([], 5)).toBeNull()
  })

  it('ends the walked line at the moment', () => {
    expect(walkedUntil(pieces, 45)).toEqual([
      [[0, 0], [10, 0], [10, 20]],
      [[0, 0], [0, 5]],
    ])
    expect(walkedUntil(pieces, -1)).toEqual([])
  })

  it('takes the nearest set heard, and says nothing of old readings', () => {
    const listener = person({
      readings: [
        { burial: 'A', t_s: [0, 1], reading_m: [30, 12] },
        { burial: 'B', t_s: [0, 1], reading_m: [null, 18] },
      ],
    })
    expect(nearestHeard(listener, 1)).toEqual({ burial: 'A', reading_m: 12 })
    expect(nearestHeard(listener, 9)).toBeNull()
    expect([firstHeard(listener, 'A'), firstHeard(listener, 'B'), firstHeard(listener, 'C')]).toEqual([0, 1, null])
  })

  it('knows the phase and who stands by', () => {
    const digger = person({ phases: [phase(null, 'signal', 0, 50), phase('A', 'coarse', 30, 60)], idle: [{ start_s: 60, end_s: 90 }] })
    expect(phaseAt(digger, 40)?.phase).toBe('coarse')
    expect(phaseAt(digger, 70)).toBeNull()
    expect(idleAt(digger, 70)).toBe(true)
  })

  it('never runs past the end', () => {
    expect(advance(10, 0.5, 4, 100)).toBe(12)
    expect(advance(99, 1, 16, 100)).toBe(100)
  })
})

describe('ribbons', () => {
  it('stacks phases that overlap and only those', () => {
    const one = barsOf(person({ phases: [phase(null, 'signal', 0, 50), phase('A', 'coarse', 50, 60)] }))
    expect(one.rows).toBe(1)
    const two = barsOf(person({ phases: [phase(null, 'signal', 0, 50), phase('A', 'coarse', 30, 60), phase('B', 'dig', 55, 70)] }))
    expect(two.rows).toBe(2)
    expect(two.bars.map(({ row }) => row)).toEqual([0, 1, 0])
  })

  it('places moments and chooses readable steps', () => {
    expect(shareOf(25, { start_s: 0, end_s: 100 })).toBe(0.25)
    expect(shareOf(-9, { start_s: 0, end_s: 100 })).toBe(0)
    expect(timeStep(700, 7)).toBe(120)
    expect([rampOf('signal'), rampOf('dig'), rampOf('own words')]).toEqual([0, 4, 4])
  })
})

it('gives everyone two letters, no two alike', () => {
  expect(initialsOf(['Ines', 'Bram', 'Yuki', 'Tomas'])).toEqual(['IN', 'BR', 'YU', 'TO'])
  const many = initialsOf(['Ines', 'Inga', 'In', 'I', 'Searcher 1', 'Searcher 2', 'Searcher 12'])
  expect(new Set(many).size).toBe(7)
  expect(many.slice(4)).toEqual(['S1', 'S2', 'S12'])
})
