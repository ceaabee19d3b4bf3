/** The differences between two drills, in plain words. */
import { same } from '../../api/same'
import { type Key, say } from '../../words'
import type { DrillDocument } from '../document'

type Fields = Record<string, Key>

const BURIAL: Fields = { position_m: 'changed.place', depth_m: 'changed.depth', antenna: 'changed.direction', transmitter: 'changed.set', outline: 'changed.outline' }
const SEARCHER: Fields = { skill: 'changed.skill', receiver: 'changed.receiver', probe_length_m: 'changed.probe', shovel: 'changed.shovel' }
const DAY: Fields = {
  strip_width_m: 'changed.width',
  lane_heading_deg: 'changed.heading',
  noise_rise_db: 'changed.noise',
  snow_density_kg_m3: 'changed.snow',
  travel: 'changed.travel',
  burial_to_alarm_s: 'changed.alarm',
}
const SITE: Fields = {
  boundary_m: 'changed.ground',
  holes_m: 'changed.ground',
  entry_m: 'changed.entry',
  slope_deg: 'changed.slope',
  aspect_deg: 'changed.slope',
  last_seen_m: 'changed.lastSeen',
}

export function changedWords(before: DrillDocument, after: DrillDocument): string[] {
  return [
    ...fields(before.site, after.site, SITE),
    ...listed(before.burials, after.burials, BURIAL, (one) => say('changed.burial', { id: one.id })),
    ...listed(before.searchers, after.searchers, SEARCHER, (one) => one.name),
    ...fields(before.conditions, after.conditions, DAY),
  ]
}

function listed<T extends { id: string }>(before: readonly T[], after: readonly T[], names: Fields, who: (one: T) => string): string[] {
  const words = []
  for (const one of after) {
    const was = before.find((other) => other.id === one.id)
    if (!was) words.push(say('changed.added', { who: who(one) }))
    else if (!same(was, one)) {
      const what = fields(was, one, names)
      if (what.length) words.push(say('changed.of', { who: who(one), what: what.join(', ') }))
    }
  }
  for (const was of before) if (!after.some((one) => one.id === was.id)) words.push(say('changed.removed', { who: who(was) }))
  return words
}

function fields(before: object, after: object, names: Fields): string[] {
  const [a, b] = [before as Record<string, unknown>, after as Record<string, unknown>]
  const found = Object.keys(names).filter((key) => !same(a[key] ?? null, b[key] ?? null))
  return [...new Set(found.map((key) => say(names[key] as Key)))]
}
