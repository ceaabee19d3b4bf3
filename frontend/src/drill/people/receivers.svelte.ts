/** The sets of the kit as receivers, with the range from the newest range test or from their figures. */
import { api, ask } from '../../api/client'
import type { SchemaKitReceiver } from '../../api/schema'
import type { Receiver } from '../document'

class Receivers {
  list = $state.raw<readonly SchemaKitReceiver[]>([])
  /** Whether the kit has been loaded. */
  known = $state(false)

  /** Load the sets again; without an answer the list stays as it was. */
  async load(): Promise<void> {
    try {
      this.list = (await ask(api.GET('/api/kit-receivers'))).sets
      this.known = true
    } catch {
      // A range can still be typed.
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

/** A set of the kit as a receiver; empty if no range is on record. */
export function heardBy(set: SchemaKitReceiver | null): Partial<Receiver> {
  if (set?.coaxial_range_m == null) return {}
  const range = { coaxial_range_m: set.coaxial_range_m, threshold_na_per_m: null, vertical_range_m: null, reference_field_at_10m_ua_per_m: 1 }
  return set.antennas === null ? range : { ...range, antennas: set.antennas, antenna_factors: set.antenna_factors }
}
