/** Import a file at once: a drill file as a new drill, a day file into its run; otherwise report its faults. */
import { askRaw } from '../../api/client'
import { createRecord, deleteRecord } from '../../api/records'
import { queryOf } from '../../api/query'
import type { DrillDocument } from '../../drill/document'
import { tell } from '../../records/tabs'
import { tellTrouble } from '../../records/steps.svelte'
import { say } from '../../words'
import { notices } from '../notices.svelte'
import { go, route } from '../router.svelte'
import { dayBack } from './day_back.svelte'

/** Create one drill from each file; a failure throws, and nothing of that file is kept. */
export async function bringDrills(files: File[]): Promise<void> {
  for (const file of files) await bringDrill(file)
}

async function bringDrill(file: File): Promise<void> {
  const query = queryOf({ file_name: file.name.slice(-120) || 'drill.json' })
  const answer = await askRaw(`/api/drill-file?${query}`, { method: 'POST', body: file })
  const document = (await answer.json()) as DrillDocument
  const { id } = await createRecord('drills', { document: document as never, site_id: null, notes: '', checks: [] })
  tell('drills', id)
  go(`/drills/${id}`)
  notices.say(say('drop.brought', { name: document.name, file: file.name }), () => takeBack(id))
}

async function takeBack(id: string): Promise<void> {
  try {
    await deleteRecord('drills', id)
    tell('drills', id)
    if (route.path === `/drills/${id}`) go('/drills')
  } catch (error) {
    tellTrouble(error)
  }
}

/** Import what phones recorded, one file after another. */
export async function bringDays(files: File[]): Promise<void> {
  for (const file of files) await dayBack.bring(file)
}
