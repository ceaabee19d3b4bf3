/** Rows of a chart of ranges: a range with its middle, or one value, each on a line of its row. */

export interface BandMark {
  /** Its position along the row, 0 to 1; for a range, that of the middle. */
  at: number
  low?: number
  high?: number
  tone: 'before' | 'single' | 'now'
  /** The line of the row, from above. */
  line: number
  words: string
}

export interface Row {
  name: string
  marks: readonly BandMark[]
  /** The position of a line across the row, 0 to 1. */
  guide?: number
}

/** Text in lines of limited length; a longer word has its own line. */
export function wrapped(words: string, letters: number): string[] {
  const lines: string[] = []
  for (const word of words.split(/ +/)) {
    const last = lines.at(-1)
    if (last !== undefined && last.length + 1 + word.length <= letters) lines[lines.length - 1] = `${last} ${word}`
    else lines.push(word)
  }
  return lines
}
