/** Whether the page is being put on paper: then it is light, and what is drawn in pixels has the size of the paper. */
import { flushSync } from 'svelte'

let printing = $state(false)

export const paper = {
  get printing(): boolean {
    return printing
  },
}

/** The browser takes its picture as soon as it has told that it will: everything is drawn at once. */
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
