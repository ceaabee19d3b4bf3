/** What is dragged over a page never takes the browser away from it. */

export function holdsFiles(event: DragEvent): boolean {
  return [...(event.dataTransfer?.types ?? [])].includes('Files')
}

/** Whether the browser itself puts the thing where it is dropped: text into a field, a file into a field for files. */
export function tookByField(event: DragEvent): boolean {
  const field = event.target instanceof Element ? event.target.closest('input, textarea') : null
  if (!field || field.matches(':disabled')) return false
  return holdsFiles(event) === field.matches('input[type=file]')
}

/** Refuse what is dropped: the pointer shows that nothing is taken here. */
export function refuse(event: DragEvent): void {
  if (event.defaultPrevented || tookByField(event)) return
  event.preventDefault()
  if (event.dataTransfer) event.dataTransfer.dropEffect = 'none'
}
