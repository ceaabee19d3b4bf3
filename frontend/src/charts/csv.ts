/** A table as CSV, in the form of the service: no cell can become a formula in a spreadsheet. */

export interface Table {
  head: readonly string[]
  rows: readonly (readonly (string | number | null | undefined)[])[]
}

const BEFORE = /^[\s'"\x00-\x20\u200b-\u200f\u2060\ufeff]*/u // eslint-disable-line no-control-regex -- they count as space here
const NUMBER = /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?\s*$/
const BEGINS = /^[=+\-@\uff1d\uff0b\uff0d\uff20]/u

/** The text of a cell, with an apostrophe before it if a spreadsheet would take it for a formula. */
export function guarded(text: string): string {
  const before = BEFORE.exec(text)?.[0] ?? ''
  const rest = text.slice(before.length)
  return /[\t\r\n]/.test(before) || (BEGINS.test(rest) && !NUMBER.test(rest)) ? `'${text}` : text
}

export function csvOf({ head, rows }: Table): string {
  const cell = (value: string | number | null | undefined): string => {
    if (value === null || value === undefined || (typeof value === 'number' && !Number.isFinite(value))) return ''
    const text = typeof value === 'number' ? String(value) : guarded(value)
    return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text
  }
  return [head, ...rows].map((row) => row.map(cell).join(',') + '\n').join('')
}

/** A number with limited decimals, for a cell. */
export const rounded = (value: number, decimals: number): number => Number(value.toFixed(decimals))
