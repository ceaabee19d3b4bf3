// @vitest-environment node
import { expect, it } from 'vitest'

import { opensFind } from './keys'

class Node {
  constructor(private readonly typed: boolean) {}
  matches(): boolean {
    return this.typed
  }
}
Object.assign(globalThis, { Element: Node, document: { querySelector: () => null } })

const key = (values: Partial<KeyboardEvent>, typed = false): KeyboardEvent => ({ key: '/', target: new Node(typed), ...values }) as unknown as KeyboardEvent

it('opens by / where nobody types and it is not switched off', () => {
  expect(opensFind(key({}), true)).toBe(true)
  expect(opensFind(key({}, true), true)).toBe(false)
  expect(opensFind(key({}), false)).toBe(false)
  expect(opensFind(key({ altKey: true }), true)).toBe(false)
})

it('opens by Ctrl or Cmd with K in a field too', () => {
  expect(opensFind(key({ key: 'k', ctrlKey: true }, true), false)).toBe(true)
  expect(opensFind(key({ key: 'K', metaKey: true }), true)).toBe(true)
  expect(opensFind(key({ key: 'k' }), true)).toBe(false)
})
