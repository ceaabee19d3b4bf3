/** The width of text on a plan, in the plan's own pixels. */

const known = new Map<string, number>()
let context: CanvasRenderingContext2D | null = null

/** The average width of a letter relative to the font size, used if nothing can be measured. */
const LETTER = 0.55

export function widthOfWords(words: string, size_px: number, bold: boolean): number {
  const key = `${size_px} ${bold} ${words}`
  const found = known.get(key)
  if (found !== undefined) return found
  const width = measured(words, size_px, bold) ?? words.length * size_px * LETTER
  if (fontsThere()) known.set(key, width)
  return width
}

function measured(words: string, size_px: number, bold: boolean): number | null {
  if (typeof document === 'undefined') return null
  context ??= document.createElement('canvas').getContext('2d')
  if (!context) return null
  context.font = `${bold ? 700 : 400} ${size_px}px ${getComputedStyle(document.body).fontFamily}`
  return context.measureText(words).width
}

const fontsThere = (): boolean => typeof document !== 'undefined' && document.fonts?.status === 'loaded'
