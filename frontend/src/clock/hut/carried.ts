/** A run as an address carries it; without that a run of which only its id is known. */
import type { Run } from '../items'

const bareRun = (id: string): Run => ({
  line: 'run', id, name: '', prepared: false, drill_id: null, drill_version: null, drill_name: '', burials: [], anchors: [],
  boundary_m: null, searchers: [], own_splits: [], agreed_word: '', emergency_number: '', own_cautions: [], curve: null,
})

export async function runCarried(id: string, text: string): Promise<Run> {
  return { ...bareRun(id), prepared: text !== '' }
}
