/** Moving and zooming the plan by mouse, fingers, wheel and arrow keys. */
import type { Point } from '../document'
import type { DebriefState } from '../state.svelte'
import { toPlace } from '../view'

/** A press that moves less than this is a click, in pixels. */
const STILL_PX = 4
const STEP_PX = 60
const ARROWS: Record<string, Point> = {
  ArrowLeft: [STEP_PX, 0],
  ArrowRight: [-STEP_PX, 0],
  ArrowUp: [0, STEP_PX],
  ArrowDown: [0, -STEP_PX],
}

export class Gestures {
  private readonly fingers = new Map<number, Point>()
  private dragged = false

  constructor(
    private readonly debrief: DebriefState,
    private readonly sheet: () => HTMLElement | undefined,
  ) {}

  down(event: PointerEvent): void {
    this.fingers.set(event.pointerId, this.pixel(event))
    this.dragged = false
    this.pointAt(this.pixel(event))
  }

  move(event: PointerEvent): void {
    const to = this.pixel(event)
    const from = this.fingers.get(event.pointerId)
    if (!from) return this.pointAt(to)
    const [dx, dy] = [to[0] - from[0], to[1] - from[1]]
    if (!this.dragged && Math.hypot(dx, dy) < STILL_PX) return
    if (!this.dragged) this.sheet()?.setPointerCapture(event.pointerId)
    this.dragged = true
    const other = [...this.fingers].find(([id]) => id !== event.pointerId)?.[1]
    if (other) this.pinch(from, to, other)
    else if (event.pointerType !== 'touch' || this.debrief.near) this.debrief.moveBy(dx, dy)
    this.fingers.set(event.pointerId, to)
  }

  up(event: PointerEvent): void {
    this.fingers.delete(event.pointerId)
  }

  /** The wheel zooms once the plan has the focus; before that it scrolls the page. */
  wheel(event: WheelEvent): void {
    const asked = event.ctrlKey || event.metaKey || document.activeElement === this.sheet()
    if (!asked) return
    event.preventDefault()
    this.debrief.zoomBy(Math.exp(-event.deltaY * (event.ctrlKey ? 0.01 : 0.002)), this.pixel(event))
  }

  key(event: KeyboardEvent): void {
    const arrow = event.target === this.sheet() ? ARROWS[event.key] : undefined
    if (!arrow || event.ctrlKey || event.metaKey || event.altKey) return
    event.preventDefault()
    event.stopPropagation()
    this.debrief.moveBy(...arrow)
    this.debrief.pointer = this.debrief.near?.place ?? null
  }

  doubleClick(event: MouseEvent): void {
    if (event.target instanceof Element && event.target.closest('button')) return
    this.debrief.zoomBy(2, this.pixel(event))
  }

  private pinch(from: Point, to: Point, other: Point): void {
    const before = Math.hypot(from[0] - other[0], from[1] - other[1])
    const after = Math.hypot(to[0] - other[0], to[1] - other[1])
    if (before > 0) this.debrief.zoomBy(after / before, [(to[0] + other[0]) / 2, (to[1] + other[1]) / 2])
    if (this.debrief.near) this.debrief.moveBy((to[0] - from[0]) / 2, (to[1] - from[1]) / 2)
  }

  private pointAt(pixel: Point): void {
    this.debrief.pointer = toPlace(this.debrief.view, this.debrief.sheet, pixel)
  }

  private pixel(event: MouseEvent): Point {
    const box = this.sheet()?.getBoundingClientRect()
    const times = this.debrief.magnified
    return [(event.clientX - (box?.left ?? 0)) / times, (event.clientY - (box?.top ?? 0)) / times]
  }
}
