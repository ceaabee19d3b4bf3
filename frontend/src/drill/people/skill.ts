/** A group's own figures on top of a named skill, and their spreads: per cent on the page, logarithms in the file. */
import type { OwnSkill } from '../document'

/** The constants that affect the minutes most; the others can be given in a drill file. */
export const MAIN: readonly string[] = ['dig_rate_kg_s', 'signal_speed_m_s', 'coarse_speed_m_s', 'near_speed_m_s', 'fine_speed_m_s', 'probe_hole_s']

const UNITS: readonly (readonly [ending: string, unit: string])[] = [['_kg_s', 'kg/s'], ['_m_s', 'm/s'], ['_deg', '°'], ['_m', 'm'], ['_s', 's']]

/** The unit of a constant from the suffix of its key; a share has none. */
export function unitOf(key: string): string {
  return UNITS.find(([ending]) => key.endsWith(ending))?.[1] ?? ''
}

/** '35 %': two of three lie within a factor of 1.35. */
export const toPercent = (deviation: number): number => Math.round(100 * Math.expm1(deviation))

export const fromPercent = (percent: number): number => Math.round(1e4 * Math.log1p(percent / 100)) / 1e4

/** The skill with one median of its own; null: that of the table. */
export function setMiddle(skill: OwnSkill, key: string, value: number | null): OwnSkill {
  return without({ ...skill, [key]: value })
}

/** The skill with one spread of its own; null: that of the table. */
export function setSpread(skill: OwnSkill, key: string, part: 'between' | 'within', value: number | null): OwnSkill {
  const own = without({ ...skill.spread?.[key], [part]: value })
  const spread = without({ ...skill.spread, [key]: Object.keys(own).length ? own : null })
  return without({ ...skill, spread: Object.keys(spread).length ? spread : null })
}

function without<T extends object>(of: T): T {
  return Object.fromEntries(Object.entries(of).filter(([, value]) => value !== null && value !== undefined)) as T
}
