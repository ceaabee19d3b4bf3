/** Numbers as people type them: a comma or a point, a typed minus sign of either kind. */
import { currentLocale } from '../../words'

/** Return the typed number, or null if it is not one. */
export function readNumber(typed: string): number | null {
  const text = typed.trim().replace('−', '-').replace(',', '.')
  if (!/^-?(\d+\.?\d*|\.\d+)$/.test(text)) return null
  return Number(text)
}

/** A number for a field: limited decimals, no trailing zeros, no thousands separators. */
export function decimal(value: number, most: number): string {
  const options = { maximumFractionDigits: most, useGrouping: false }
  return new Intl.NumberFormat(currentLocale(), options).format(value).replace(/^-/, '−').replace(/^−0$/, '0')
}
