/** Announcements for screen readers. */

/** While a key is held down, only the final value is announced. */
const REST_MS = 250

class Announcer {
  text = $state('')
  private later = 0

  say(words: string): void {
    clearTimeout(this.later)
    // Repeated text must also count as a change.
    this.later = window.setTimeout(() => (this.text = this.text === words ? `${words}\u00a0` : words), REST_MS)
  }
}

export const announcer = new Announcer()
