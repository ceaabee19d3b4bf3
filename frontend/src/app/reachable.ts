/** What is wider than its place can be scrolled by keyboard too: it takes the focus while, and only while, it overflows. */
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
