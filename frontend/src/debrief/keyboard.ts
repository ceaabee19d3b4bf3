/** Single-key commands of the page; inactive while the reader types or uses a control. */
import { LAYERS } from './layers'
import type { DebriefState } from './state.svelte'

/** Act on a key; return whether it was handled. */
export function press(debrief: DebriefState, event: KeyboardEvent, ontheme: () => void): boolean {
  if (event.key === 'Escape' && debrief.wall) {
    debrief.wall = false
    return true
  }
  if (!debrief.keys || event.ctrlKey || event.metaKey || event.altKey || busy(event)) return false
  if (!debrief.tracked) return without(debrief, event.key.toLowerCase(), ontheme)
  const layer = LAYERS[Number(event.key) - 1]
  if (layer) debrief.toggle(layer)
  else if (event.key === ' ') debrief.togglePlaying()
  else if (event.key === 'ArrowRight') debrief.seek(debrief.t_s + (event.shiftKey ? 10 : 1))
  else if (event.key === 'ArrowLeft') debrief.seek(debrief.t_s - (event.shiftKey ? 10 : 1))
  else if (event.key === '+') debrief.plan.zoomBy(1.5)
  else if (event.key === '-') debrief.plan.zoomBy(1 / 1.5)
  else if (event.key === '0') debrief.plan.showWhole()
  else return letter(debrief, event.key.toLowerCase(), ontheme)
  return true
}

function letter(debrief: DebriefState, key: string, ontheme: () => void): boolean {
  if (key === 'n') debrief.stepFinding(1)
  else if (key === 'p') debrief.stepFinding(-1)
  else if (key === 'a') debrief.nextPerson()
  else if (key === 's') debrief.nextSpeed()
  else if (key === 'w') debrief.wall = !debrief.wall
  else if (key === 'd') ontheme()
  else return false
  return true
}

/** Without a track: only the findings, the wall view and the theme. */
function without(debrief: DebriefState, key: string, ontheme: () => void): boolean {
  return ['n', 'p', 'd', 'w'].includes(key) && letter(debrief, key, ontheme)
}

/** Whether the key belongs to the control that has the focus. */
function busy(event: KeyboardEvent): boolean {
  const control = event.target instanceof Element ? event.target.closest('input, select, textarea, button, summary') : null
  if (!control) return false
  if (control instanceof HTMLInputElement && control.type === 'range') return /^(Arrow|Home|End|Page)/.test(event.key)
  if (control instanceof HTMLInputElement && control.type === 'checkbox') return event.key === ' '
  if (control instanceof HTMLButtonElement || control.tagName === 'SUMMARY') return event.key === ' ' || event.key === 'Enter'
  return true
}
