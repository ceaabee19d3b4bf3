import { expect, it } from 'vitest'

import { History } from './history'
import { same } from './same'

it('goes back and on, a gesture in one step', () => {
  const history = new History<number>()
  history.note(0, 'first')
  history.note(1, 'drag', 'A')
  history.note(2, 'drag', 'A')
  history.endGesture()
  history.note(3, 'drag', 'A')
  expect([history.undoLabel, history.redoLabel]).toEqual(['drag', null])
  expect([history.undo(4), history.undo(3), history.undo(1), history.undo(0)]).toEqual([3, 1, 0, null])
  expect([history.redo(0), history.redo(1), history.redo(3), history.redo(4)]).toEqual([1, 3, 4, null])
})

it('takes a gesture back that was broken off, and nothing else', () => {
  const history = new History<number>()
  history.note(0, 'first')
  expect(history.abandon('drag')).toBeNull()
  history.note(1, 'drag', 'drag')
  history.note(2, 'drag', 'drag')
  expect([history.abandon('drag'), history.undoLabel, history.redoLabel]).toEqual([1, 'first', null])
})

it('forgets what was ahead once something new is done, and the oldest beyond its bound', () => {
  const history = new History<number>(2)
  for (const value of [0, 1, 2]) history.note(value, String(value))
  expect([history.undo(3), history.undo(2), history.undo(1)]).toEqual([2, 1, null])
  history.note(1, 'new')
  expect(history.redo(9)).toBeNull()
})

it('compares plain values with keys in any order', () => {
  expect(same({ a: 1, b: [1, { c: null }] }, { b: [1, { c: null }], a: 1 })).toBe(true)
  expect(same([1, 2], [1, 2, 3])).toBe(false)
  expect(same({ a: undefined }, { b: undefined })).toBe(false)
  expect(same({ 0: 1 }, [1])).toBe(false)
})
