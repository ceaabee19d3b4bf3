/** Which key opens the search for anything, and where it does not: in a field, or where a dialog is open. */

const TYPED_INTO = 'input:not([type="checkbox"], [type="radio"], [type="range"]), textarea, select, [contenteditable="true"]'

/** Ctrl or Cmd with K everywhere; '/' alone where nobody types, unless that is switched off. */
export function opensFind(event: KeyboardEvent, slash: boolean): boolean {
  if (event.altKey || event.defaultPrevented || document.querySelector('dialog[open]')) return false
  if (event.ctrlKey || event.metaKey) return event.key.toLowerCase() === 'k'
  const typing = event.target instanceof Element && event.target.matches(TYPED_INTO)
  return slash && event.key === '/' && !typing
}
