/** Deleted records, and how to restore them. */
import { api, ask } from './client'
import type { SchemaDeletion } from './schema'

const LATEST = 500

/** The deletion that removed a record, or null if it is not among the latest. */
export async function findDeletion(kind: string, id: string): Promise<SchemaDeletion | null> {
  const latest = await ask(api.GET('/api/deletions', { params: { query: { limit: LATEST } } }))
  return latest.find((one) => one.kind === kind && one.record_id === id) ?? null
}
