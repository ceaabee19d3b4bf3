/** What the instructor saw, in their own words; only what the program added to them is told. */
import { toldOr } from '../words'

export const observed = (note: string): string => (note.includes(' (not seen)') ? toldOr(note) : note)
