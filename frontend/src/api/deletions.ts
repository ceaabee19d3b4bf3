/** What was deleted, and how to have it back. */
import { api, ask } from './client'
import type { SchemaDeletion } from './schema'

const LATEST = 500

/** The deletion that took a record, or null where none of the latest did. */
export async function findDeletion(kind: string, id: string): Promise<SchemaDeletion | null> {
  const latest = await ask(api.GET('/api/deletions', { params: { query: { limit: LATEST } } }))
  return latest.find((one) => one.kind === kind && one.record_id === id) ?? null
}
