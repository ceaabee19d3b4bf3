/** The steps of an evening, in order; each has its own address (`?step=tracks`). */
import type { Key } from '../words'

export const STEPS = ['run', 'splits', 'tracks', 'buried', 'clocks', 'standards', 'debrief'] as const
export type Step = (typeof STEPS)[number]

export const STEP_NAMES: Record<Step, Key> = {
  run: 'run.step.run',
  splits: 'run.step.splits',
  tracks: 'run.step.tracks',
  buried: 'run.step.buried',
  clocks: 'run.step.clocks',
  standards: 'run.step.standards',
  debrief: 'run.step.debrief',
}

export function stepOf(asked: string | null, debriefed: boolean): Step {
  return STEPS.find((step) => step === asked) ?? (debriefed ? 'debrief' : 'run')
}
