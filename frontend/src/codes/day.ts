/** A day in codes: the lines of its day file without their checksums, which the reader computes again. */
import { dayName, type Given, linesOf, sealed } from '../clock/day_file'
import { inParts } from './parts'

/** The texts of the codes; null if the day needs too many. */
export const dayCodes = (file: string): Promise<string[] | null> => inParts('CFD1', linesOf(file).join('\n'))

/** The day file as the phone would have saved it. */
export function dayFrom(text: string): Given | null {
  try {
    const lines = text.split('\n')
    const [head, phone] = lines.slice(0, 2).map((line) => JSON.parse(line) as Record<string, unknown>)
    if (head?.['line'] !== 'head' || typeof head['made_ms'] !== 'number' || phone?.['line'] !== 'phone') return null
    const told = (key: string): string => String(phone[key] ?? '')
    return { name: dayName(head['made_ms'], { id: told('id'), name: told('name'), keeper: told('keeper') }), text: sealed(lines) }
  } catch {
    return null
  }
}
