/** One line at the foot of the page: what was just done, with the way back. */
interface Notice {
  text: string
  undo: (() => unknown) | null
}

const SHOWN_MS = 12_000

class Notices {
  now = $state.raw<Notice | null>(null)
  private timer: ReturnType<typeof setTimeout> | undefined

  /** Say what was done; with `undo` a button takes it back. */
  say(text: string, undo: (() => unknown) | null = null): void {
    this.now = { text, undo }
    clearTimeout(this.timer)
    this.timer = setTimeout(() => this.close(), SHOWN_MS)
  }

  close(): void {
    clearTimeout(this.timer)
    this.now = null
  }

  /** Nothing goes away while it is being read or reached for. */
  stay(): void {
    clearTimeout(this.timer)
  }
}

export const notices = new Notices()
