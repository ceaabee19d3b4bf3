/** Call a function once an element comes into view. */
export function seen(then: () => void): (element: Element) => () => void {
  return (element) => {
    const watch = new IntersectionObserver((entries) => {
      if (!entries.some(({ isIntersecting }) => isIntersecting)) return
      watch.disconnect()
      then()
    })
    watch.observe(element)
    return () => watch.disconnect()
  }
}
