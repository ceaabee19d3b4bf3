/** Makes an overflowing element scrollable by keyboard: it is focusable only while it overflows. */
export function reachable(place: HTMLElement): () => void {
  const look = (): void => {
    if (place.scrollWidth > place.clientWidth) place.tabIndex = 0
    else place.removeAttribute('tabindex')
  }
  const watch = new ResizeObserver(look)
  watch.observe(place)
  for (const child of place.children) watch.observe(child)
  return () => watch.disconnect()
}
