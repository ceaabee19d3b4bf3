import { say } from '../words'
import type { DebriefDocument } from './document'

/** The zero of all times, in words. */
export function zeroWords(document: DebriefDocument): string {
  if (document.run.time_zero === 'first split') return say('time.fromSplit')
  return say(document.run.time_zero.startsWith('first') ? 'time.fromTrack' : 'time.fromAlarm')
}
