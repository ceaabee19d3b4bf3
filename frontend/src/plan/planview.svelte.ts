/** The view of a plan: size, zoom, pan, and conversion between pixels and metres. */
import type { Rectangle } from './labels'
import type { Point } from './point'
import type { Box } from './polyline'
import { centred, fit, pan, toPixel, toPlace, transformOf, zoom, type Margin, type Size, type View } from './view'

/** The margin around the map: its frame, the metres along it, and the strip with the scale below. */
export const FRAME: Margin = { left: 30, right: 8, top: 8, bottom: 54 }
/** The size of a plan on paper, in the units of its own drawing. */
export const PRINTED: Size = { width: 760, height: 600 }
const AIR_PX = 18
const GO_TIMES = 1.7

interface Options {
  /** Screen pixels per pixel of the plan, because text on a wall is read from afar. */
  magnified?: (size: Size) => number
  /** Room taken at the left of the map, in pixels. */
  indent?: () => number
  /** The size of the plan if the screen does not define it, as on paper. */
  fixed?: () => Size | null
  /** The smallest zoom, as a share of the scale that shows the whole ground. */
  leastTimes?: number
}

export class PlanView {
  /** The extent of the whole ground. */
  box = $state.raw<Box>({ west: 0, south: 0, east: 1, north: 1 })
  /** The size of the plan on the screen. */
  size = $state.raw<Size>({ width: 600, height: 400 })
  /** The place in the middle and the magnification relative to the whole ground; null: the whole ground. */
  near = $state.raw<{ place: Point; times: number } | null>(null)
  /** The place of the pointer, or the middle after the keys moved the sheet; null before either. */
  pointer = $state.raw<Point | null>(null)

  readonly fixed = $derived.by(() => this.options.fixed?.() ?? null)
  readonly magnified = $derived.by(() => Math.max(1, this.options.magnified?.(this.size) ?? 1))
  /** The size of the plan in its own pixels. */
  readonly sheet = $derived.by<Size>(
    () => this.fixed ?? { width: this.size.width / this.magnified, height: this.size.height / this.magnified },
  )
  readonly margin = $derived.by<Margin>(() => {
    const left = FRAME.left + AIR_PX + (this.options.indent?.() ?? 0)
    return { left, right: FRAME.right + AIR_PX, top: FRAME.top + AIR_PX, bottom: FRAME.bottom + AIR_PX }
  })
  readonly whole = $derived.by<View>(() => fit(this.box, this.sheet, this.margin))
  readonly view = $derived.by<View>(() =>
    this.near && !this.fixed ? centred(this.near.place, this.whole.scale * this.near.times, this.margin) : this.whole,
  )
  /** SVG transform that draws metres, north up. */
  readonly transform = $derived.by(() => transformOf(this.view, this.sheet))
  /** The map area, in pixels of the sheet; labels and marks stay inside. */
  readonly bounds = $derived.by<Rectangle>(() => ({
    x: FRAME.left,
    y: FRAME.top,
    width: this.sheet.width - FRAME.left - FRAME.right,
    height: this.sheet.height - FRAME.top - FRAME.bottom,
  }))

  constructor(
    box: Box,
    private readonly options: Options = {},
  ) {
    this.box = box
  }

  /** Pixels per metre. */
  get scale(): number {
    return this.view.scale
  }

  toPixel(place: Point): Point {
    return toPixel(this.view, this.sheet, place)
  }

  toPlace(pixel: Point): Point {
    return toPlace(this.view, this.sheet, pixel)
  }

  /** Zoom about a pixel, or about the middle. */
  zoomBy(factor: number, pixel: Point = this.middle): void {
    const least = this.whole.scale * (this.options.leastTimes ?? 1)
    this.look(zoom(this.view, this.sheet, pixel, factor, least))
  }

  /** Move the sheet by pixels. */
  moveBy(dx: number, dy: number): void {
    this.look(pan(this.view, dx, dy), true)
  }

  showWhole(): void {
    this.near = null
  }

  /** Show all of another ground. */
  fitTo(box: Box): void {
    this.box = box
    this.near = null
  }

  /** Go to a place, zoomed in enough to see who did what there. */
  goTo(place: Point): void {
    this.near = { place, times: Math.max(this.near?.times ?? 1, GO_TIMES) }
  }

  /** The middle of the map area, in pixels. */
  get middle(): Point {
    const { left, right, top, bottom } = this.margin
    return [(this.sheet.width + left - right) / 2, (this.sheet.height + top - bottom) / 2]
  }

  private look(view: View, moved = false): void {
    const [east, north] = toPlace(view, this.sheet, this.middle)
    const { west, south, east: right, north: top } = this.box
    // If the view may extend beyond the ground, allow a margin to draw there.
    const air = (this.options.leastTimes ?? 1) < 1 ? Math.max(right - west, top - south) : 0
    const place: Point = [
      Math.min(right + air, Math.max(west - air, east)),
      Math.min(top + air, Math.max(south - air, north)),
    ]
    const times = view.scale / this.whole.scale
    const all = times <= 1.001 && (this.options.leastTimes ?? 1) === 1
    this.near = all && !moved ? null : { place, times }
  }
}
