/** The minutes of kept drills, for their cards: requested one after another, and cached until the drill changes. */
import { api, ask } from '../api/client'
import type { SchemaKeptMinutes } from '../api/schema'
import { eightOfTen, wider } from '../drill/rehearsal/minutes'

const known = new Map<string, SchemaKeptMinutes>()
let last: Promise<unknown> = Promise.resolve()

/** The minutes of a drill at its last change; null if they are no longer wanted. */
export function minutesOf(id: string, changed_utc: string, signal: AbortSignal): Promise<SchemaKeptMinutes | null> {
  const key = `${id} ${changed_utc}`
  const answer = last.then(async () => {
    const kept = known.get(key)
    if (kept || signal.aborted) return kept ?? null
    const told = await ask(api.GET('/api/drills/{drill_id}/minutes', { params: { path: { drill_id: id } }, signal }))
    if (told.ready) known.set(key, told)
    return told
  })
  last = answer.catch(() => undefined)
  return answer
}

/** '9 to 12 min', as in the line above the drill's plan; '' if unknown. */
export function minutesWords({ minutes }: SchemaKeptMinutes): string {
  return minutes ? eightOfTen(wider(minutes.all_clear), minutes.horizon_s) : ''
}
