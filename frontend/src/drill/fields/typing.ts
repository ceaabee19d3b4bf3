/** Typed text is applied while typing, not only when the field is left; all of it is one undo step. */

/** A pause in typing after which the text is applied, ms. */
const PAUSE_MS = 400

let sessions = 0
let now: string | null = null

/** The field that is being typed into, to join its changes into one step; null if none. */
export const typedInto = (): string | null => now

/**
 * Apply typed text at each pause, and when the page is left or reloaded.
 * `keep` receives the current text; it must not change the field.
 */
export function keptWhileTyped(keep: (text: string) => void): (input: HTMLInputElement) => () => void {
  return (input) => {
    let timer: ReturnType<typeof setTimeout> | undefined
    let session = ''
    const flush = (): void => {
      if (timer === undefined) return
      clearTimeout(timer)
      timer = undefined
      within(() => keep(input.value))
    }
    const within = (act: () => void): void => {
      now = session
      try {
        act()
      } finally {
        now = null
      }
    }
    const typed = (): void => {
      if (!session) session = `typed ${(sessions += 1)}`
      clearTimeout(timer)
      timer = setTimeout(flush, PAUSE_MS)
    }
    // The field's own change handler runs after this one and applies the whole text.
    const changed = (): void => {
      clearTimeout(timer)
      timer = undefined
      if (!session) return
      now = session
      queueMicrotask(() => (now = null))
      session = ''
    }
    input.addEventListener('input', typed)
    input.addEventListener('change', changed, { capture: true })
    addEventListener('pagehide', flush)
    return () => {
      flush()
      input.removeEventListener('input', typed)
      input.removeEventListener('change', changed, { capture: true })
      removeEventListener('pagehide', flush)
    }
  }
}
