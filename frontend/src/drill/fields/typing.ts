/** What is typed into a field is kept while it is typed, not only once the field is left; all of it is one step. */

/** A pause in typing this long, ms: what stands there then is kept. */
const PAUSE_MS = 400

let sessions = 0
let now: string | null = null

/** The field that is being typed into, for joining what it changes to one step; null: none. */
export const typedInto = (): string | null => now

/**
 * Keep what is typed at each pause, and when the page is left or loaded anew.
 * `keep` is given the text as it stands; it must not change the field.
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
    // The field's own handler of a change comes after this one and takes all of the text.
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
