/** Whether the page is being printed: it is then light, and drawings in pixels have the size of the paper. */
import { flushSync } from 'svelte'

let printing = $state(false)

export const paper = {
  get printing(): boolean {
    return printing
  },
}

/** The browser renders for print right after the event, so everything is redrawn synchronously. */
export function followPrint(): () => void {
  const root = document.documentElement
  let theme = root.dataset['theme']
  const before = (): void => {
    if (!printing) theme = root.dataset['theme']
    root.dataset['theme'] = 'light'
    flushSync(() => (printing = true))
  }
  const after = (): void => {
    root.dataset['theme'] = theme
    printing = false
  }
  addEventListener('beforeprint', before)
  addEventListener('afterprint', after)
  return () => {
    removeEventListener('beforeprint', before)
    removeEventListener('afterprint', after)
  }
}
