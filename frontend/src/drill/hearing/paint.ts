/** Draw a hearing map on a canvas: bands of readings, edges of hearing, places where nothing is heard. */
import type { Point } from '../../plan/point'
import { bandOf, LEVELS_M, type Shown, type Way } from './field'
import { fillHeard } from './paint_heard'
import { joined, piecesAt, piecesAtAll } from './lines'
import type { SetHeard } from './packed'

export interface Sheet {
  width: number
  height: number
  /** The pixel of the origin, and the pixels per metre. */
  x: number
  y: number
  scale: number
}

export interface Colours {
  bands: readonly string[]
  /** Where all of the group hear something. */
  heard: string
  sheet: string
  hair: string
  quiet: string
  ink: string
}

export interface Ground {
  boundary_m: readonly Point[]
  holes_m: readonly (readonly Point[])[]
}

export interface Picture {
  shown: Shown
  ground: Ground
  sheet: Sheet
  colours: Colours
  /** The dash of each set, in the order of the burials. */
  dashes: Readonly<Record<string, readonly number[]>>
  /** Whether something is being dragged; the map is then coarser and without text. */
  moving: boolean
  readings: boolean
  way: Way
}

/** Dashes that distinguish the edges of hearing of several sets. */
export const DASHES: readonly (readonly number[])[] = [[9, 4], [3, 3], [12, 3, 3, 3], [], [6, 2, 2, 2, 2, 2], [16, 5]]

const HATCH_PX = 7
const OUTSIDE = 0.35

export function drawHearing(context: CanvasRenderingContext2D, picture: Picture, scratch: HTMLCanvasElement): void {
  const { sheet, shown, ground, colours } = picture
  context.clearRect(0, 0, sheet.width, sheet.height)
  const [wide, high] = picture.way === 'heard' ? fillHeard(picture, scratch) : fillBands(picture, scratch)
  const site = pathOf([ground.boundary_m, ...ground.holes_m], sheet)
  hatch(context, site, colours)
  context.drawImage(scratch, 0, 0, wide, high)
  thinOut(context, site, sheet)
  if (picture.readings && picture.way === 'reads') drawReadings(context, picture)
  for (const set of shown.sets) drawEdge(context, picture, set)
}

/** Draw the bands on the scratch canvas; returns its size on the plan. One point per pixel, or per three pixels while something moves. */
function fillBands({ shown, sheet, colours, moving }: Picture, scratch: HTMLCanvasElement): [number, number] {
  const coarse = moving ? 3 : 1
  const [width, height] = [Math.ceil(sheet.width / coarse), Math.ceil(sheet.height / coarse)]
  if (scratch.width !== width || scratch.height !== height) [scratch.width, scratch.height] = [width, height]
  const context = scratch.getContext('2d')
  if (!context) return [1, 1]
  const image = context.createImageData(width, height)
  const pixels = new Uint32Array(image.data.buffer)
  const palette = paletteOf(colours.bands)
  const { columns, rows, west_m, south_m, step_m } = shown.lattice
  const { lowest, margin } = shown
  const across = axis(width, (k) => (((k + 0.5) * coarse - sheet.x) / sheet.scale - west_m) / step_m, columns)
  const up = axis(height, (k) => ((sheet.y - (k + 0.5) * coarse) / sheet.scale - south_m) / step_m, rows)
  const [over, reading] = [new Float32Array(columns), new Float32Array(columns)]
  for (let y = 0; y < height; y++) {
    const row = up.cell[y] ?? -1
    if (row < 0) continue
    between(margin, row * columns, columns, up.share[y] ?? 0, over)
    between(lowest, row * columns, columns, up.share[y] ?? 0, reading)
    for (let x = 0; x < width; x++) {
      const k = across.cell[x] ?? -1
      if (k < 0) continue
      const u = across.share[x] ?? 0
      if ((1 - u) * (over[k] ?? 0) + u * (over[k + 1] ?? 0) < 0) continue
      pixels[y * width + x] = palette[(1 - u) * (reading[k] ?? 0) + u * (reading[k + 1] ?? 0) | 0] ?? 0
    }
  }
  context.putImageData(image, 0, 0)
  return [width * coarse, height * coarse]
}

/** A row of values between two rows of the map. */
function between(values: Float32Array, from: number, columns: number, share: number, out: Float32Array): void {
  for (let k = 0; k < columns; k++) out[k] = (1 - share) * (values[from + k] ?? 0) + share * (values[from + columns + k] ?? 0)
}

/** For each point, the preceding place of the map and the fraction of the way to the next; -1: outside. */
function axis(count: number, at: (k: number) => number, places: number): { cell: Int32Array; share: Float32Array } {
  const cell = new Int32Array(count).fill(-1)
  const share = new Float32Array(count)
  for (let k = 0; k < count; k++) {
    const value = at(k)
    if (!(value >= 0 && value <= places - 1)) continue
    cell[k] = Math.min(Math.floor(value), places - 2)
    share[k] = value - (cell[k] ?? 0)
  }
  return { cell, share }
}

export function packedColour(colour: string): number {
  // Builds shorten #ffffff to #fff.
  const digits = colour.length === 4 ? [...colour.slice(1)].map((digit) => digit + digit).join('') : colour.slice(1)
  const rgb = Number.parseInt(digits, 16)
  return (0xff000000 | ((rgb & 0xff) << 16) | (rgb & 0xff00) | (rgb >> 16)) >>> 0
}

let painted: { of: string; palette: Uint32Array } | null = null

/** The colour of each reading in hundredths of a metre. */
function paletteOf(bands: readonly string[]): Uint32Array {
  const of = bands.join()
  if (painted?.of === of) return painted.palette
  const colours = bands.map(packedColour)
  const palette = Uint32Array.from({ length: 65536 }, (_, reading) => colours[bandOf(reading)] ?? 0)
  painted = { of, palette }
  return palette
}

/** Make the bands faint outside the ground. */
function thinOut(context: CanvasRenderingContext2D, site: Path2D, { width, height }: Sheet): void {
  const outside = new Path2D()
  outside.rect(0, 0, width, height)
  outside.addPath(site)
  context.globalCompositeOperation = 'destination-out'
  context.globalAlpha = 1 - OUTSIDE
  context.fill(outside, 'evenodd')
  context.globalAlpha = 1
  context.globalCompositeOperation = 'source-over'
}

/** Hatching, which shows where nothing is heard because no band covers it. */
function hatch(context: CanvasRenderingContext2D, site: Path2D, { quiet }: Colours): void {
  const tile = document.createElement('canvas')
  tile.width = tile.height = HATCH_PX
  const ink = tile.getContext('2d')
  if (!ink) return
  ink.strokeStyle = quiet
  ink.beginPath()
  for (const x of [-HATCH_PX, 0, HATCH_PX]) {
    ink.moveTo(x, HATCH_PX)
    ink.lineTo(x + HATCH_PX, 0)
  }
  ink.stroke()
  context.globalAlpha = 0.45
  context.fillStyle = context.createPattern(tile, 'repeat') ?? quiet
  context.fill(site, 'evenodd')
  context.globalAlpha = 1
}

function drawReadings(context: CanvasRenderingContext2D, { shown, sheet, colours }: Picture): void {
  const heard = Uint8Array.from(shown.margin, (over) => (over >= 0 ? 1 : 0))
  context.strokeStyle = colours.ink
  context.globalAlpha = 0.55
  context.lineWidth = 0.75
  context.setLineDash([])
  const levels = LEVELS_M.map((level) => level * 100)
  for (const pieces of piecesAtAll(shown.lattice, shown.lowest, levels, heard)) {
    context.beginPath()
    for (let k = 0; k < pieces.length; k += 4) {
      context.moveTo(...pixel(sheet, [pieces[k] ?? 0, pieces[k + 1] ?? 0]))
      context.lineTo(...pixel(sheet, [pieces[k + 2] ?? 0, pieces[k + 3] ?? 0]))
    }
    context.stroke()
  }
  context.globalAlpha = 1
}

function drawEdge(context: CanvasRenderingContext2D, { shown, sheet, colours, dashes }: Picture, set: SetHeard): void {
  const lines = joined(piecesAt(shown.lattice, set.margin, 0))
  context.beginPath()
  for (const line of lines) line.forEach((place, k) => (k ? context.lineTo(...pixel(sheet, place)) : context.moveTo(...pixel(sheet, place))))
  context.setLineDash([])
  context.strokeStyle = colours.sheet
  context.lineWidth = 4
  context.stroke()
  context.setLineDash([...(dashes[set.id] ?? [])])
  context.strokeStyle = colours.ink
  context.lineWidth = 1.75
  context.stroke()
  context.setLineDash([])
}

function pathOf(rings: readonly (readonly Point[])[], sheet: Sheet): Path2D {
  const path = new Path2D()
  for (const ring of rings) {
    ring.forEach((place, k) => (k ? path.lineTo(...pixel(sheet, place)) : path.moveTo(...pixel(sheet, place))))
    path.closePath()
  }
  return path
}

function pixel({ x, y, scale }: Sheet, [east, north]: Point): Point {
  return [x + east * scale, y - north * scale]
}
