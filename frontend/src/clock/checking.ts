/** The state of a group check from its items, and the possible readings at 1 m. */
import type { Item, ItemOf, LookAt } from './items'
import { Read } from './reduce'

/**
 * The possible reading of a set at 1 m from another legal one, both level and coaxial, m. Derived: a reading is (reference field / field)^(1/3) m at 1 m, for fields from 0.5 to 2.23 of the reference, so 0.765 to 1.26; plus 0.1 m for rounding and for holding by hand (setting).
 */
export const SPREAD_M = { from: 0.77, to: 1.26, around: 0.1 } as const

/** Charge or replace below this for a day out: common practice; other schools take 60. */
export const LOW_BATTERY_PERCENT = 40

export interface Found {
  battery_percent: number | null
  errors: boolean | null
  receives: boolean | null
  transmits: boolean | null
  reading_m: number | null
}

/** What should be looked at; never a verdict on the set. */
export function lookAt(found: Found): LookAt[] {
  const at: LookAt[] = []
  if (found.battery_percent !== null && found.battery_percent < LOW_BATTERY_PERCENT) at.push('battery')
  if (found.errors) at.push('errors')
  if (found.receives === false) at.push('receives')
  if (found.transmits === false) at.push('transmits')
  if (found.reading_m !== null && !withinSpread(found.reading_m)) at.push('reading')
  return at
}

export function withinSpread(reading_m: number): boolean {
  const spare = 1e-9
  return reading_m >= SPREAD_M.from - SPREAD_M.around - spare && reading_m <= SPREAD_M.to + SPREAD_M.around + spare
}

export type Stage = ItemOf<'checked'>['stage']

export interface CheckState {
  begun: ItemOf<'check'> | null
  /** By stage, then by person. */
  checked: Map<Stage, Map<string, ItemOf<'checked'>>>
  end: ItemOf<'check_end'> | null
  people: Map<string, string>
}

export function reduceCheck(items: readonly Item[]): CheckState {
  const read = new Read(items)
  const checked = new Map<Stage, Map<string, ItemOf<'checked'>>>([['receives', new Map()], ['transmits', new Map()], ['leader', new Map()]])
  for (const item of read.of('checked')) checked.get(item.stage)?.set(item.person, item)
  return {
    begun: read.of('check').at(-1) ?? null,
    checked,
    end: read.of('check_end').at(-1) ?? null,
    people: new Map(read.of('searcher').map((item) => [item.searcher, item.name])),
  }
}
