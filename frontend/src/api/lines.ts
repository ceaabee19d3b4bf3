/** What went wrong, in words for the person in front of it. */
import { say, type Said, saidText } from '../words'
import { Problem, Unreachable } from './client'

/** A line for each fault: of the service, or our own; `Told` says them in the chosen language. */
export function linesOf(error: unknown): readonly Said[] {
  if (error instanceof Unreachable) return [say('state.unreachable')]
  return error instanceof Problem && error.faults.length ? error.faults : [say('state.ownFault')]
}

/** The same in one line, for a notice. */
export function lineOf(error: unknown): string {
  return linesOf(error).map(saidText).join(' ')
}
