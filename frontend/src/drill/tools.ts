/** Keys while something is being drawn or placed: what the pointer does, without a pointer. */
import type { DrillState } from './state.svelte'

/** Space puts something in the middle of the plan, Enter finishes, Backspace takes the last back, Escape leaves. */
export function toolKey(drill: DrillState, event: KeyboardEvent): void {
  const { tool, view } = drill
  if (!tool || event.ctrlKey || event.metaKey || event.altKey) return
  if (event.key === ' ') tool.press(view.toPlace(view.middle))
  else if (event.key === 'Enter') tool.finish?.()
  else if (event.key === 'Backspace') tool.back?.()
  else if (event.key === 'Escape') drill.tool = null
  else return
  event.preventDefault()
  event.stopPropagation()
}
