/** The state of a run, and its next step. */
import type { Step } from '../runs/steps'
import { say } from '../words'
import { duration } from '../words/format'

export interface Standing {
  held_utc: string
  tracks: number
  splits: number
  debrief_id: string | null
  older_model: boolean
  airway_clear_s: number | null
}

export interface Next {
  step: Step
  words: string
}

/** 'debriefed' and the time until the last airway was clear, or the data that exist so far. */
export function standsOf(run: Standing, now_ms = Date.now()): string[] {
  const begun = run.tracks + run.splits > 0
  const state = run.debrief_id ? 'debriefed' : begun ? 'begun' : Date.parse(run.held_utc) > now_ms ? 'ahead' : 'bare'
  return [
    say(`runCard.${state}`),
    run.airway_clear_s === null ? '' : say('runCard.airway', { time: duration(run.airway_clear_s) }),
    !run.debrief_id && run.tracks ? say('runCard.tracks', { n: run.tracks }) : '',
    !run.debrief_id && run.splits ? say('runCard.splits', { n: run.splits }) : '',
    run.debrief_id && run.older_model ? say('runCard.older') : '',
  ]
}

/** The next step; null for a run that was debriefed with the current model. */
export function nextOf(run: Standing): Next | null {
  if (run.debrief_id) return run.older_model ? { step: 'debrief', words: say('runCard.toAgain') } : null
  if (run.tracks) return { step: 'debrief', words: say('runCard.toDebrief') }
  return run.splits ? { step: 'tracks', words: say('runCard.toTracks') } : { step: 'splits', words: say('runCard.toSplits') }
}
