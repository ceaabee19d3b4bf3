/** Read, write, delete and restore records of any kind. */
import { askRaw, newId, Problem } from './client'
import { formOf, type Forms, type Kind } from './forms'

export interface Kept<F> {
  id: string
  form: F
  version: number
}

const address = (kind: Kind, id: string): string => `/api/${kind}/${encodeURIComponent(id)}`

function kept<K extends Kind>(kind: K, stored: { id: string; version: number }): Kept<Forms[K]> {
  return { id: stored.id, form: formOf(kind, stored), version: stored.version }
}

export async function readRecord<K extends Kind>(kind: K, id: string): Promise<Kept<Forms[K]>> {
  return kept(kind, await (await askRaw(address(kind, id))).json())
}

/** Create a record (version 0), or change the given version. */
export async function writeRecord<K extends Kind>(
  kind: K,
  id: string,
  form: Forms[K],
  version: number,
  options: RequestInit = {},
): Promise<Kept<Forms[K]>> {
  const headers: Record<string, string> = { 'content-type': 'application/json' }
  if (version) headers['if-match'] = `"${version}"`
  const body = JSON.stringify(form)
  return kept(kind, await (await askRaw(address(kind, id), { method: 'PUT', headers, body, ...options })).json())
}

export async function createRecord<K extends Kind>(kind: K, form: Forms[K], id = newId()): Promise<Kept<Forms[K]>> {
  return writeRecord(kind, id, form, 0)
}

/** Delete a record with its parts; returns the deletion's id, for `undelete`. */
export async function deleteRecord(kind: Kind | 'tracks' | 'debriefs', id: string): Promise<string> {
  const answer = await askRaw(`/api/${kind}/${encodeURIComponent(id)}`, { method: 'DELETE' })
  return ((await answer.json()) as { deletion_id: string }).deletion_id
}

export async function undelete(deletionId: string): Promise<void> {
  await askRaw(`/api/deletions/${encodeURIComponent(deletionId)}/undo`, { method: 'POST' })
}

/** The current record, or null if there is none. */
export async function findRecord<K extends Kind>(kind: K, id: string): Promise<Kept<Forms[K]> | null> {
  try {
    return await readRecord(kind, id)
  } catch (error) {
    if (error instanceof Problem && error.status === 404) return null
    throw error
  }
}
