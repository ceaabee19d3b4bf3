/** Keyboard control while something is being drawn or placed. */
import { announcer } from '../app/announcer.svelte'
import { say } from '../words'
import { decimal } from './fields/numbers'
import type { Point } from '../plan/point'
import type { DrillState } from './state.svelte'

/** Space places something in the middle of the plan, Enter finishes, Backspace undoes the last, Escape leaves. */
export function toolKey(drill: DrillState, event: KeyboardEvent): void {
  const { tool, view } = drill
  if (!tool || event.ctrlKey || event.metaKey || event.altKey) return
  if (event.key === ' ' || (event.key === 'Enter' && !tool.finish)) put(drill, view.toPlace(view.middle))
  else if (event.key === 'Enter') tool.finish?.()
  else if (event.key === 'Backspace') tool.back?.()
  else if (event.key === 'Escape') drill.tool = null
  else return
  event.preventDefault()
  event.stopPropagation()
}

function put(drill: DrillState, place: Point): void {
  const before = drill.document
  drill.tool?.press(place)
  if (drill.tool || drill.document !== before) announcer.say(say('drill.put', placeWords(place)))
}

/** A place in words for screen readers. */
export function placeWords([east, north]: Point): { east: string; north: string } {
  return { east: decimal(east, 1), north: decimal(north, 1) }
}
