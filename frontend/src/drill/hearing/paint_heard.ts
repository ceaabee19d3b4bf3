/** The first view of a hearing map: where all of the group hear something, and where some do. */
import { packedColour, type Picture } from './paint'

const DOT_PX = 7

/** Solid where all of the group hear something, dots where some do, else nothing. Returns the size on the plan. */
export function fillHeard({ shown, sheet, colours, moving }: Picture, scratch: HTMLCanvasElement): [number, number] {
  const coarse = moving ? 2 : 1
  const [width, height] = [Math.ceil(sheet.width / coarse), Math.ceil(sheet.height / coarse)]
  if (scratch.width !== width || scratch.height !== height) [scratch.width, scratch.height] = [width, height]
  const context = scratch.getContext('2d')
  if (!context) return [1, 1]
  const image = context.createImageData(width, height)
  const pixels = new Uint32Array(image.data.buffer)
  const [solid, paper] = [packedColour(colours.heard), packedColour(colours.sheet)]
  const { columns, rows, west_m, south_m, step_m } = shown.lattice
  const column = Int32Array.from({ length: width }, (_, x) => placeOf((((x + 0.5) * coarse - sheet.x) / sheet.scale - west_m) / step_m, columns))
  for (let y = 0; y < height; y++) {
    const row = placeOf(((sheet.y - (y + 0.5) * coarse) / sheet.scale - south_m) / step_m, rows)
    if (row < 0) continue
    for (let x = 0; x < width; x++) {
      const k = column[x] ?? -1
      const by = k < 0 ? 0 : (shown.heardBy[row * columns + k] ?? 0)
      if (!by) continue
      const dot = (x * coarse) % DOT_PX < 3 && (y * coarse) % DOT_PX < 3
      pixels[y * width + x] = by >= shown.searchers || dot ? solid : paper
    }
  }
  context.putImageData(image, 0, 0)
  return [width * coarse, height * coarse]
}

/** The place of the map nearest to a value; -1 off the map. */
function placeOf(value: number, places: number): number {
  const place = Math.round(value)
  return place >= 0 && place < places ? place : -1
}
