/** A difference with its sign, and only as many digits as its uncertainty justifies. */
import { decimal } from '../fields/numbers'

export function signed(value: number, plus = true, digits = 2): string {
  const text = decimal(Math.round(value * 10 ** digits) / 10 ** digits, digits)
  return plus && value > 0 && text !== '0' ? `+${text}` : text
}
