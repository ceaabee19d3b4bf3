/** A run from an address; without its content, a run of which only the id is known. */
import { Parts } from '../../codes/parts'
import { runFrom } from '../../codes/run'
import { bareRun, type Run } from '../items'

export async function runCarried(id: string, carried: string): Promise<Run> {
  const parts = new Parts('CFR1')
  const text = parts.take(carried) === 'taken' ? await parts.text() : null
  const run = text === null ? null : runFrom(text)
  return run?.id === id ? run : { ...bareRun(id), prepared: true }
}
