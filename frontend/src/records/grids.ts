/** The elevation grid and the picture of a drill. */
import { api, ask, askRaw, newId } from '../api/client'
import { askLong } from '../api/long'
import { queryOf } from '../api/query'

/** Copy the elevation grid and the picture of one drill, if any, to another. */
export async function copyGrid(from: string, to: string): Promise<void> {
  await copyPicture(from, to)
  const { items } = await ask(api.GET('/api/grids', { params: { query: { drill_id: from, limit: 500 } } }))
  const grid = items.at(-1)
  if (!grid) return
  const file = await askRaw(`/api/grids/${grid.id}/file`)
  const query = queryOf({ file_name: grid.file_name, crs: grid.crs ?? null })
  await askLong(`/api/drills/${to}/grids/${newId()}?${query}`, { method: 'PUT', body: await file.blob() })
}

async function copyPicture(from: string, to: string): Promise<void> {
  const { items } = await ask(api.GET('/api/pictures', { params: { query: { drill_id: from, limit: 1 } } }))
  const picture = items[0]
  if (!picture) return
  const file = await askRaw(`/api/pictures/${picture.id}/file`)
  await askLong(`/api/drills/${to}/pictures/${newId()}?${queryOf({ file_name: picture.file_name, like: picture.id })}`, { method: 'PUT', body: await file.blob() })
}
