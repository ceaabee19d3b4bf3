/** Draggable things on the plan: pointer capture, touch, and Escape to cancel. */
import type { Attachment } from 'svelte/attachments'

import { pixelIn, STILL_PX } from './gestures'
import type { PlanView } from './planview.svelte'
import type { Point } from './point'

export interface Movable {
  view: PlanView
  /** The place of the thing when it is grabbed. */
  place: () => Point
  /** Pressed; it is not known yet whether it will move. */
  pressed?: (event: PointerEvent) => void
  /** Moving; the place keeps its offset from the pointer. */
  moved: (place: Point, event: PointerEvent) => void
  /** Released; `moved` is false if it was only pressed. */
  ended?: (moved: boolean) => void
  /** Cancelled (Escape, a call, a second finger): restore the earlier state. */
  cancelled?: () => void
}

/** How often the text about the place is updated during a drag, ms: each update costs a layout. */
const TELL_MS = 150

interface Hold {
  id: number
  told_ms: number
  from: Point
  place: Point
  at: Point
  moved: boolean
}

/** Make an element of the plan draggable: `<g {@attach movable({...})}>`. */
export function movable(thing: Movable): Attachment<Element> {
  return (element) => {
    let hold: Hold | null = null
    /** The sheet's box during a drag, cached because reading it would cost a layout at each move. */
    let box: DOMRect | undefined
    const at = (event: PointerEvent): Point => pixelIn(event, box, thing.view)
    const look = (): void => void (box = element.closest('[data-sheet]')?.getBoundingClientRect())

    function down(event: PointerEvent): void {
      if (event.button > 0 || hold) return
      event.stopPropagation()
      element.setPointerCapture(event.pointerId)
      look()
      window.addEventListener('scroll', look, { capture: true, passive: true })
      hold = { id: event.pointerId, told_ms: 0, from: at(event), place: thing.place(), at: thing.place(), moved: false }
      thing.pressed?.(event)
    }

    function move(event: PointerEvent): void {
      if (!hold || event.pointerId !== hold.id) return
      event.stopPropagation()
      const [x, y] = at(event)
      const [dx, dy] = [x - hold.from[0], y - hold.from[1]]
      if (!hold.moved && Math.hypot(dx, dy) < STILL_PX) return
      hold.moved = true
      const { scale } = thing.view
      const place: Point = [hold.place[0] + dx / scale, hold.place[1] - dy / scale]
      if (event.timeStamp - hold.told_ms >= TELL_MS) {
        hold.told_ms = event.timeStamp
        thing.view.pointer = place
      }
      hold.at = place
      thing.moved(place, event)
    }

    function up(event: PointerEvent): void {
      if (!hold || event.pointerId !== hold.id) return
      event.stopPropagation()
      const { moved, at: last } = hold
      letGo()
      // The text about the place refers to where it was released.
      if (moved) thing.view.pointer = last
      thing.ended?.(moved)
    }

    function cancel(event: PointerEvent): void {
      if (hold && event.pointerId === hold.id) broken()
    }

    function key(event: KeyboardEvent): void {
      if (!hold || event.key !== 'Escape') return
      event.stopPropagation()
      broken()
    }

    function letGo(): void {
      hold = null
      window.removeEventListener('scroll', look, true)
    }

    function broken(): void {
      letGo()
      thing.cancelled?.()
    }

    const listeners: [string, (event: never) => void][] = [
      ['pointerdown', down],
      ['pointermove', move],
      ['pointerup', up],
      ['pointercancel', cancel],
    ]
    for (const [name, listener] of listeners) element.addEventListener(name, listener as EventListener)
    window.addEventListener('keydown', key, true)
    return () => {
      for (const [name, listener] of listeners) element.removeEventListener(name, listener as EventListener)
      window.removeEventListener('keydown', key, true)
      window.removeEventListener('scroll', look, true)
      if (hold) broken()
    }
  }
}

/**
 * Cache the attachment of each thing. Otherwise a change during a gesture would replace the attachment and end the gesture.
 */
export function keptFor<K>(make: (key: K) => Attachment<Element>): (key: K) => Attachment<Element> {
  const made = new Map<K, Attachment<Element>>()
  return (key) => {
    const one = made.get(key) ?? make(key)
    made.set(key, one)
    return one
  }
}

const STEP_M = 1
const FINE_M = 0.1
const WAYS: Record<string, Point> = {
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, 1],
  ArrowDown: [0, -1],
}

/** How far an arrow key moves a thing: one metre, with Shift 0.1 m; null for other keys. */
export function nudge(event: KeyboardEvent): Point | null {
  const way = WAYS[event.key]
  if (!way || event.ctrlKey || event.metaKey || event.altKey) return null
  const step = event.shiftKey ? FINE_M : STEP_M
  return [way[0] * step, way[1] * step]
}
