import { expect, it } from 'vitest'

import { type Mark, nearest, stepped } from './marks'

const mark = (x: number, y: number): Mark => ({ x, y, words: `${x} ${y}` })
/** Two lines with a value at each of three places, and one value apart. */
const marks = [mark(0, 10), mark(10, 12), mark(20, 14), mark(0, 90), mark(10, 80), mark(20, 70), mark(35, 50)]

it('finds the value that lies nearest to the pointer', () => {
  expect(nearest(marks, 11, 75)).toBe(4)
  expect(nearest([], 0, 0)).toBe(-1)
})

it('follows a line by left and right, changes it by up and down, and jumps to the ends', () => {
  expect(['Home', 'ArrowRight', 'ArrowRight', 'ArrowDown', 'ArrowLeft', 'ArrowUp', 'ArrowUp', 'End', 'ArrowRight'].reduce<number[]>((went, key) => [...went, stepped(marks, went.at(-1) ?? -1, key) ?? -9], [])).toEqual([0, 1, 2, 5, 4, 1, 1, 6, 6])
  expect(stepped(marks, -1, 'ArrowRight')).toBe(0)
  expect(stepped(marks, 0, 'x')).toBeNull()
})
