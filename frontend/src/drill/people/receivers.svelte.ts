/** The sets of the kit as receivers: how far each hears, by its newest range test or its figures. */
import { api, ask } from '../../api/client'
import type { SchemaKitReceiver } from '../../api/schema'
import type { Receiver } from '../document'

class Receivers {
  list = $state.raw<readonly SchemaKitReceiver[]>([])
  /** Whether the kit was read. */
  known = $state(false)

  /** Look again which sets there are; without an answer the list stays as it was. */
  async load(): Promise<void> {
    try {
      this.list = (await ask(api.GET('/api/kit-receivers'))).sets
      this.known = true
    } catch {
      // A range can be typed all the same.
    }
  }

  named(label: string | null): SchemaKitReceiver | null {
    return this.list.find((one) => one.label === label) ?? null
  }
}

export const receivers = new Receivers()

/** The sets, a person's own before the others. */
export function ownFirst(list: readonly SchemaKitReceiver[], name: string): readonly SchemaKitReceiver[] {
  const own = list.filter((one) => one.owner === name)
  return [...own, ...list.filter((one) => one.owner !== name)]
}

/** What the kit says of a set as a receiver; nothing where no range is on record. */
export function heardBy(set: SchemaKitReceiver | null): Partial<Receiver> {
  if (set?.coaxial_range_m == null) return {}
  const range = { coaxial_range_m: set.coaxial_range_m, threshold_na_per_m: null, vertical_range_m: null, reference_field_at_10m_ua_per_m: 1 }
  return set.antennas === null ? range : { ...range, antennas: set.antennas, antenna_factors: set.antenna_factors }
}
