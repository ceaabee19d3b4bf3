/** The keys that open the search, except in a field or while a dialog is open. */

const TYPED_INTO = 'input:not([type="checkbox"], [type="radio"], [type="range"]), textarea, select, [contenteditable="true"]'

/** Ctrl or Cmd with K everywhere; '/' alone outside fields, unless switched off. */
export function opensFind(event: KeyboardEvent, slash: boolean): boolean {
  if (event.altKey || event.defaultPrevented || document.querySelector('dialog[open]')) return false
  if (event.ctrlKey || event.metaKey) return event.key.toLowerCase() === 'k'
  const typing = event.target instanceof Element && event.target.matches(TYPED_INTO)
  return slash && event.key === '/' && !typing
}
