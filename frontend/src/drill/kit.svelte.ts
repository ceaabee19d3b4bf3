/** The sets of the school's kit, with what was measured of them. */
import { api, ask } from '../api/client'
import type { SchemaKit, SchemaKitFigures, SchemaStoredKit } from '../api/schema'
import { FIELDS } from '../api/fields'
import type { Burial, DrillDocument, Searcher, Transmitter } from './document'

class Sets {
  list = $state.raw<readonly SchemaStoredKit[]>([])

  /** Look again which sets there are; without an answer the list stays as it was. */
  async load(): Promise<void> {
    const query = { kind: 'set', limit: 500 } as const
    try {
      const { items } = await ask(api.GET('/api/kit', { params: { query } }))
      this.list = items.filter((one) => one.state === 'in use' || one.state === 'to check')
    } catch {
      // Figures can be typed all the same.
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

/** What a set's figures say of it as a transmitter. */
export function sentBy(figures: SchemaKitFigures | null | undefined): Partial<Transmitter> {
  const { field_at_10m_ua_per_m, period_s, pulse_s } = figures ?? {}
  return {
    ...(field_at_10m_ua_per_m ? { field_at_10m_ua_per_m } : {}),
    ...(period_s ? { period_s } : {}),
    ...(pulse_s ? { pulse_s } : {}),
  }
}

/** The sets that somebody else of this drill carries, hidden ones included. */
export function inUse({ burials, searchers }: DrillDocument, but: Burial | Searcher): readonly (string | null)[] {
  return [...burials, ...searchers].filter((one) => one !== but).map(({ set }) => set)
}
