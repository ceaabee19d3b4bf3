/** The sets of the school's kit, with their measured values. */
import { api, ask } from '../api/client'
import type { SchemaKit, SchemaKitFigures, SchemaStoredKit } from '../api/schema'
import { FIELDS } from '../api/fields'
import type { Burial, DrillDocument, Searcher, Transmitter } from './document'

class Sets {
  list = $state.raw<readonly SchemaStoredKit[]>([])

  /** Load the sets again; without an answer the list stays as it was. */
  async load(): Promise<void> {
    const query = { kind: 'set', limit: 500 } as const
    try {
      const { items } = await ask(api.GET('/api/kit', { params: { query } }))
      this.list = items.filter((one) => one.state === 'in use' || one.state === 'to check')
    } catch {
      // Values can still be typed.
    }
  }

  named(label: string | null): SchemaStoredKit | null {
    return this.list.find((one) => one.label === label) ?? null
  }

  /** Keep figures with a set, for the next drill. */
  async keep(set: SchemaStoredKit, figures: Partial<SchemaKitFigures>): Promise<void> {
    const kept = Object.fromEntries(FIELDS.kit.map((key) => [key, set[key]]))
    const body = { ...kept, figures: { ...set.figures, ...figures } } as SchemaKit
    const params = { path: { record_id: set.id }, header: { 'If-Match': `"${set.version}"` } }
    await ask(api.PUT('/api/kit/{record_id}', { params, body }))
    await this.load()
  }
}

export const sets = new Sets()

/** A set's figures as values of a transmitter. */
export function sentBy(figures: SchemaKitFigures | null | undefined): Partial<Transmitter> {
  const { field_at_10m_ua_per_m, period_s, pulse_s } = figures ?? {}
  return {
    ...(field_at_10m_ua_per_m ? { field_at_10m_ua_per_m } : {}),
    ...(period_s ? { period_s } : {}),
    ...(pulse_s ? { pulse_s } : {}),
  }
}

/** The sets used elsewhere in this drill, including hidden ones. */
export function inUse({ burials, searchers }: DrillDocument, but: Burial | Searcher): readonly (string | null)[] {
  return [...burials, ...searchers].filter((one) => one !== but).map(({ set }) => set)
}
