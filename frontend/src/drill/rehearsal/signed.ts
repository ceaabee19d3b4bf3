/** A difference with its sign, and no more digits than its doubt gives. */
import { decimal } from '../fields/numbers'

export function signed(value: number, plus = true, digits = 2): string {
  const text = decimal(Math.round(value * 10 ** digits) / 10 ** digits, digits)
  return plus && value > 0 && text !== '0' ? `+${text}` : text
}
