/** Import a day file of the clock; entries without a run wait until a person says where they belong. */
import { askRaw } from '../../api/client'
import { queryOf } from '../../api/query'
import type { SchemaDayFileTaken, SchemaDayJoined, SchemaDayTaken } from '../../api/schema'
import { tell } from '../../records/tabs'
import { say, type Said } from '../../words'
import { notices } from '../notices.svelte'
import { go } from '../router.svelte'

export interface Waiting {
  file: File
  entry: SchemaDayTaken
}

/** A run here, or a drill for which a new run is created. */
export type Target = { run: string } | { drill: string }
/** The phone's names and the matching names in the drill. */
export interface Same {
  burials: Record<string, string>
  searchers: Record<string, string>
}

class DayBack {
  /** Runs of dropped files that belong to no drill or run yet. */
  waiting = $state.raw<readonly Waiting[]>([])
  /** The faults of the last file, one line each. */
  faults = $state.raw<readonly Said[]>([])
  /** Changes with every file, so that the page of its run reloads. */
  times = $state(0)

  async bring(file: File): Promise<void> {
    this.faults = []
    const taken = await this.send(file, {})
    const waits = taken.runs.filter((entry) => entry.waits === 'drill')
    this.waiting = [...this.waiting.filter((one) => !waits.some(({ of }) => of === one.entry.of)), ...waits.map((entry) => ({ file, entry }))]
    const run = taken.runs.find(({ id }) => id !== null)
    if (!waits.length && run) go(`/runs/${run.id}?step=splits`)
    else if (!waits.length && taken.checks.some(({ id }) => id !== null)) go('/kit?checks=1')
    else go('/runs')
  }

  /** Ask for the matching of burials; nothing is kept. */
  async look({ file, entry }: Waiting, to: Target): Promise<SchemaDayJoined | null> {
    const taken = await this.post(file, { of: entry.of, look: 'true', ...to })
    return taken.runs[0]?.joined ?? null
  }

  /** Say where a waiting run belongs. */
  async join({ file, entry }: Waiting, to: Target, same: Same): Promise<void> {
    const taken = await this.send(file, { of: entry.of, same: JSON.stringify(same), ...to })
    const run = taken.runs.find(({ of }) => of === entry.of)
    this.waiting = this.waiting.filter((one) => one.entry.of !== entry.of)
    if (run?.id) go(`/runs/${run.id}?step=splits`)
  }

  leave(of: string): void {
    this.waiting = this.waiting.filter(({ entry }) => entry.of !== of)
  }

  private async send(file: File, to: Record<string, string>): Promise<SchemaDayFileTaken> {
    const taken = await this.post(file, to)
    this.faults = taken.faults
    this.times++
    for (const { id } of taken.runs) if (id) tell('runs', id)
    const sum = (key: 'kept' | 'there'): number => [...taken.runs, ...taken.checks].reduce((n, one) => n + one[key], 0)
    notices.say(say('day.taken', { file: file.name, kept: sum('kept'), there: sum('there') }))
    return taken
  }

  private async post(file: File, to: Record<string, string>): Promise<SchemaDayFileTaken> {
    const query = queryOf({ file_name: file.name.slice(-120) || 'day.txt', ...to })
    const answer = await askRaw(`/api/day-file?${query}`, { method: 'POST', body: file })
    return (await answer.json()) as SchemaDayFileTaken
  }
}

export const dayBack = new DayBack()
