/** Convert metres of the site to pixels of the plan and back. */
import type { Point } from './point'
import type { Box } from './polyline'

/** The place in the middle of the plan, and the pixels per metre. */
export interface View {
  east_m: number
  north_m: number
  scale: number
}

export interface Size {
  width: number
  height: number
}

export const SCALE_MAX = 240

/** The margin around the map on each side, in pixels. */
export interface Margin {
  left: number
  right: number
  top: number
  bottom: number
}

/** The view that shows a whole box within the margins. */
export function fit(box: Box, size: Size, margin: Margin): View {
  const wide = Math.max(box.east - box.west, 1)
  const high = Math.max(box.north - box.south, 1)
  const across = (size.width - margin.left - margin.right) / wide
  const up = (size.height - margin.top - margin.bottom) / high
  const middle: Point = [(box.west + box.east) / 2, (box.south + box.north) / 2]
  return centred(middle, Math.max(Math.min(across, up), 0.01), margin)
}

/** The view with a place in the middle of the map area. */
export function centred(place: Point, scale: number, margin: Margin): View {
  return {
    east_m: place[0] - (margin.left - margin.right) / 2 / scale,
    north_m: place[1] - (margin.bottom - margin.top) / 2 / scale,
    scale,
  }
}

export function toPixel(view: View, size: Size, place: Point): Point {
  return [
    size.width / 2 + (place[0] - view.east_m) * view.scale,
    size.height / 2 - (place[1] - view.north_m) * view.scale,
  ]
}

export function toPlace(view: View, size: Size, pixel: Point): Point {
  return [
    view.east_m + (pixel[0] - size.width / 2) / view.scale,
    view.north_m - (pixel[1] - size.height / 2) / view.scale,
  ]
}

/** SVG transform that draws metres, north up. */
export function transformOf(view: View, size: Size): string {
  const [x, y] = toPixel(view, size, [0, 0])
  return `translate(${x} ${y}) scale(${view.scale} ${-view.scale})`
}

/** Zoom about a pixel, which keeps its place; never below the scale `least`. */
export function zoom(view: View, size: Size, pixel: Point, factor: number, least: number): View {
  const scale = Math.min(SCALE_MAX, Math.max(least, view.scale * factor))
  const place = toPlace(view, size, pixel)
  return {
    east_m: place[0] - (pixel[0] - size.width / 2) / scale,
    north_m: place[1] + (pixel[1] - size.height / 2) / scale,
    scale,
  }
}

/** Move the sheet by pixels. */
export function pan(view: View, dx: number, dy: number): View {
  return { east_m: view.east_m - dx / view.scale, north_m: view.north_m + dy / view.scale, scale: view.scale }
}

/** A round distance (1, 2 or 5 times a power of ten) of at least `pixels`. */
export function roundStep(scale: number, pixels: number): number {
  const least = pixels / scale
  const power = 10 ** Math.floor(Math.log10(least))
  const factor = [1, 2, 5, 10].find((f) => f * power >= least * 0.999) ?? 10
  return factor * power
}

/** Round values between two bounds. */
export function ticks(from: number, to: number, step: number): number[] {
  const first = Math.ceil(from / step - 1e-9)
  const last = Math.floor(to / step + 1e-9)
  return Array.from({ length: Math.max(0, last - first + 1) }, (_, i) => (first + i) * step)
}
