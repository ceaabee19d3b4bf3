/** Errors as text for people. */
import { say, type Said, saidText } from '../words'
import { Problem, Unreachable } from './client'

/** One line for each fault, from the service or the page; `Told` shows them in the chosen language. */
export function linesOf(error: unknown): readonly Said[] {
  if (error instanceof Unreachable) return [say('state.unreachable')]
  return error instanceof Problem && error.faults.length ? error.faults : [say('state.ownFault')]
}

/** The same as one line, for a notice. */
export function lineOf(error: unknown): string {
  return linesOf(error).map(saidText).join(' ')
}
