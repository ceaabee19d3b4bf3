/** Moving and zooming the plan by mouse, fingers, wheel and keys. */
import type { PlanView } from './planview.svelte'
import type { Point } from './point'

/** A press that moves less than this is a click, in pixels. */
export const STILL_PX = 4
const STEP_PX = 60
const FINE_PX = 6
/** The direction in which the sheet moves, opposite to the view. */
const ARROWS: Record<string, Point> = {
  ArrowLeft: [1, 0],
  ArrowRight: [-1, 0],
  ArrowUp: [0, 1],
  ArrowDown: [0, -1],
}

/** The most zoom per wheel step; two fingers on a touch pad send many small steps. */
const MOST_STEP = 1.2
/** Pixels per line and per page, for wheels that count in those units. */
const DELTA_PX = [1, 16, 400]

/** The zoom factor of a turn of the wheel. */
export function wheelFactor({ deltaY, deltaMode, ctrlKey }: Pick<WheelEvent, 'deltaY' | 'deltaMode' | 'ctrlKey'>): number {
  const turned_px = deltaY * (DELTA_PX[deltaMode] ?? 1)
  const factor = Math.exp(-turned_px * (ctrlKey ? 0.01 : 0.002))
  return Math.min(MOST_STEP, Math.max(1 / MOST_STEP, factor))
}

export class Gestures {
  private readonly fingers = new Map<number, Point>()
  private dragged = false

  constructor(
    private readonly view: PlanView,
    private readonly sheet: () => HTMLElement | undefined,
    private readonly onpress?: (place: Point, event: PointerEvent) => void,
  ) {}

  down(event: PointerEvent): void {
    if (event.button > 0) return
    this.fingers.set(event.pointerId, this.pixel(event))
    this.dragged = this.fingers.size > 1
    this.pointAt(this.pixel(event))
  }

  move(event: PointerEvent): void {
    const to = this.pixel(event)
    const from = this.fingers.get(event.pointerId)
    if (!from) return this.pointAt(to)
    const [dx, dy] = [to[0] - from[0], to[1] - from[1]]
    if (!this.dragged && Math.hypot(dx, dy) < STILL_PX) return
    const sheet = this.sheet()
    if (sheet && !sheet.hasPointerCapture(event.pointerId)) sheet.setPointerCapture(event.pointerId)
    this.dragged = true
    const other = [...this.fingers].find(([id]) => id !== event.pointerId)?.[1]
    if (other) this.pinch(from, to, other)
    else if (event.pointerType !== 'touch' || this.view.near) this.view.moveBy(dx, dy)
    this.pointAt(to)
    this.fingers.set(event.pointerId, to)
  }

  up(event: PointerEvent): void {
    const known = this.fingers.delete(event.pointerId)
    if (known && !this.dragged) this.onpress?.(this.view.toPlace(this.pixel(event)), event)
  }

  cancel(event: PointerEvent): void {
    this.fingers.delete(event.pointerId)
  }

  /** The wheel zooms once the plan or a mark in it has the focus; before that it scrolls the page. */
  wheel(event: WheelEvent): void {
    const asked = event.ctrlKey || event.metaKey || this.sheet()?.contains(document.activeElement)
    if (!asked) return
    event.preventDefault()
    this.view.zoomBy(wheelFactor(event), this.pixel(event))
  }

  /** Arrow keys move the sheet while it has the focus itself, in small steps with Shift; plus, minus and 0 zoom from every mark in it. Returns whether the key was handled. */
  key(event: KeyboardEvent): boolean {
    if (event.ctrlKey || event.metaKey || event.altKey || event.defaultPrevented) return false
    const arrow = event.target === this.sheet() ? ARROWS[event.key] : undefined
    if (arrow) {
      const step = event.shiftKey ? FINE_PX : STEP_PX
      this.view.moveBy(arrow[0] * step, arrow[1] * step)
      this.view.pointer = this.view.near?.place ?? null
    } else if (event.key === '+' || event.key === '=') this.view.zoomBy(1.5)
    else if (event.key === '-') this.view.zoomBy(1 / 1.5)
    else if (event.key === '0') this.view.showWhole()
    else return false
    event.preventDefault()
    event.stopPropagation()
    return true
  }

  doubleClick(event: MouseEvent): void {
    if (event.target instanceof Element && event.target.closest('button, [role=button]')) return
    this.view.zoomBy(2, this.pixel(event))
  }

  private pinch(from: Point, to: Point, other: Point): void {
    const before = Math.hypot(from[0] - other[0], from[1] - other[1])
    const after = Math.hypot(to[0] - other[0], to[1] - other[1])
    if (before > 0) this.view.zoomBy(after / before, [(to[0] + other[0]) / 2, (to[1] + other[1]) / 2])
    if (this.view.near) this.view.moveBy((to[0] - from[0]) / 2, (to[1] - from[1]) / 2)
  }

  private pointAt(pixel: Point): void {
    this.view.pointer = this.view.toPlace(pixel)
  }

  private pixel(event: MouseEvent): Point {
    return pixelOf(event, this.sheet(), this.view)
  }
}

/** The position of a pointer on the sheet, in the plan's own pixels. */
export function pixelOf(event: MouseEvent, sheet: Element | undefined, view: PlanView): Point {
  return pixelIn(event, sheet?.getBoundingClientRect(), view)
}

/** The same if the sheet's box is known. */
export function pixelIn(event: MouseEvent, box: DOMRect | undefined, view: PlanView): Point {
  return [(event.clientX - (box?.left ?? 0)) / view.magnified, (event.clientY - (box?.top ?? 0)) / view.magnified]
}
