/** The cost of a finding as text. */
import { say } from '../words'
import { cost, duration } from '../words/format'
import type { Finding } from './document'

/** '+2 min 10 s': to the second over a standard, because both times were measured or entered; '' if no time was lost. */
export function leadOf({ kind, minutes }: Finding): string {
  if (!minutes || minutes <= 0) return ''
  return say('findings.cost', { time: kind === 'standard_missed' ? duration(60 * minutes) : cost(minutes) })
}
