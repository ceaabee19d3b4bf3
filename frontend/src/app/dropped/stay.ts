/** A dropped thing never makes the browser leave the page. */

export function holdsFiles(event: DragEvent): boolean {
  return [...(event.dataTransfer?.types ?? [])].includes('Files')
}

/** Whether the browser itself handles the drop: text into a text field, a file into a file field. */
export function tookByField(event: DragEvent): boolean {
  const field = event.target instanceof Element ? event.target.closest('input, textarea') : null
  if (!field || field.matches(':disabled')) return false
  return holdsFiles(event) === field.matches('input[type=file]')
}

/** Refuse a drop: the pointer shows that nothing is accepted here. */
export function refuse(event: DragEvent): void {
  if (event.defaultPrevented || tookByField(event)) return
  event.preventDefault()
  if (event.dataTransfer) event.dataTransfer.dropEffect = 'none'
}
