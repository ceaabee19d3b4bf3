/** The time zone for moments of a run. */
import { say } from '../words'
import { clock } from '../words/format'
import type { DebriefDocument } from './document'

export interface Moment {
  day: string
  time: string
  /** The name of the zone, or a note that it is the reader's; empty for UTC. */
  whose: string
}

/** The zone of the ground, if this browser knows it. */
export function zoneOf({ run }: { run: { zone: string | null } }): string | undefined {
  try {
    return run.zone === null ? undefined : new Intl.DateTimeFormat('en', { timeZone: run.zone }).resolvedOptions().timeZone
  } catch {
    return undefined
  }
}

/** Day and time of a moment on the ground or, if its position is unknown, where the reader is. */
export function momentOf(document: Pick<DebriefDocument, 'run'>, utc: string | null, inUtc: boolean): Moment | null {
  const zone = zoneOf(document)
  const at = clock(utc, inUtc ? 'UTC' : zone)
  if (!at) return null
  return { ...at, whose: inUtc ? '' : zone ? zone.replaceAll('_', ' ') : say('time.ofReader') }
}
