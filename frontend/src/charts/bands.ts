/** Rows of a chart of ranges: a range with its middle, or one value, each on a line of its row. */

export interface BandMark {
  /** Where it stands along the row, 0 to 1; of a range the middle. */
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
  /** Where a line across the row stands, 0 to 1. */
  guide?: number
}

/** Words in lines of at most so many letters; a longer word has a line of its own. */
export function wrapped(words: string, letters: number): string[] {
  const lines: string[] = []
  for (const word of words.split(/ +/)) {
    const last = lines.at(-1)
    if (last !== undefined && last.length + 1 + word.length <= letters) lines[lines.length - 1] = `${last} ${word}`
    else lines.push(word)
  }
  return lines
}
