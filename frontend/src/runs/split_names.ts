/** The splits with a fixed meaning, by their names in the current language; other text is kept as typed. */
import { say, sayOr } from '../words'

export const SPLITS = ['alarm', 'first_signal', 'within_10_m', 'lowest_reading', 'probe_strike', 'airway_clear', 'set_out'] as const

export const splitName = (split: string): string => sayOr(`split.${split}`, split)

/** The split of a typed name. */
export function splitOf(typed: string): string {
  const wanted = typed.trim().toLocaleLowerCase()
  return SPLITS.find((split) => split === wanted || say(`split.${split}`).toLocaleLowerCase() === wanted) ?? typed.trim()
}
