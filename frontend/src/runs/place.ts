/** A run in a few words: its name, its drill, its day. */
import { say } from '../words'
import { clock } from '../words/format'
import type { RunState } from './run.svelte'

export const placeOf = (run: RunState): string =>
  [run.form.name || say('run.unnamed'), run.drill?.name, clock(run.form.held_utc ?? null)?.day].filter(Boolean).join(' · ')
