/** What Ctrl+Z undoes on the open page. */
import { say } from '../words'
import { announcer } from './announcer.svelte'

export interface Undoable {
  readonly undoLabel: string | null
  readonly redoLabel: string | null
  undo: () => unknown
  redo: () => unknown
}

let target = $state.raw<Undoable | null>(null)

/** Let Ctrl+Z act on this while the page is open: call it in an effect and return its result. */
export function undoes(what: Undoable): () => void {
  target = what
  return () => {
    if (target === what) target = null
  }
}

/** Act on Ctrl+Z, Ctrl+Shift+Z or Ctrl+Y; a text field with typed changes keeps its own undo. */
export function pressUndo(event: KeyboardEvent): boolean {
  const key = event.key.toLowerCase()
  if (!(event.ctrlKey || event.metaKey) || event.altKey || !target || typing(event.target)) return false
  if (key === 'z' && !event.shiftKey && target.undoLabel !== null) undo(target)
  else if ((key === 'y' || (key === 'z' && event.shiftKey)) && target.redoLabel !== null) redo(target)
  else return false
  return true
}

/** Undo the last step, and announce it. */
export function undo(what: Undoable): void {
  const step = what.undoLabel ?? ''
  what.undo()
  announcer.say(say('undo.undone', { what: step }))
}

export function redo(what: Undoable): void {
  const step = what.redoLabel ?? ''
  what.redo()
  announcer.say(say('undo.redone', { what: step }))
}

/** Whether a text field has its own changes, which the browser can undo. */
function typing(place: EventTarget | null): boolean {
  if (place instanceof HTMLTextAreaElement) return place.value !== place.defaultValue
  return place instanceof HTMLInputElement && !/checkbox|radio|range|button|file/.test(place.type) && place.dataset['typing'] === 'yes'
}
