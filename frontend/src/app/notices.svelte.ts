/** One line at the bottom of the page: what was just done, with undo. */
interface Notice {
  text: string
  undo: (() => unknown) | null
}

const SHOWN_MS = 12_000

class Notices {
  now = $state.raw<Notice | null>(null)
  private timer: ReturnType<typeof setTimeout> | undefined

  /** Show what was done; with `undo` there is a button to reverse it. */
  say(text: string, undo: (() => unknown) | null = null): void {
    this.now = { text, undo }
    clearTimeout(this.timer)
    this.timer = setTimeout(() => this.close(), SHOWN_MS)
  }

  close(): void {
    clearTimeout(this.timer)
    this.now = null
  }

  /** Keep the notice while it is being read or pointed at. */
  stay(): void {
    clearTimeout(this.timer)
  }
}

export const notices = new Notices()
