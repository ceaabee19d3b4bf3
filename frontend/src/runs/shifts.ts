/** Clock shifts as people type them: '+1:00:00', '-0:30', '90'. */
import { minutesSeconds } from './times'

/** Seconds; null: none is typed; undefined: it is no shift. */
export function readShift(text: string): number | null | undefined {
  const trimmed = text.trim().replace('−', '-')
  if (!trimmed) return null
  const found = /^([+-]?)(?:(?:(\d+):)?(\d+):)?(\d+(?:[.,]\d+)?)$/.exec(trimmed)
  if (!found) return undefined
  const [, sign, hours = '0', minutes = '0', seconds = '0'] = found
  const size = Number(hours) * 3600 + Number(minutes) * 60 + Number(seconds.replace(',', '.'))
  return size === 0 ? null : (sign === '-' ? -1 : 1) * size
}

/** '+60:00', '−0:30'; nothing where there is none. */
export function shownShift(seconds: number | null): string {
  if (seconds === null || seconds === 0) return ''
  return (seconds > 0 ? '+' : '') + minutesSeconds(seconds)
}
