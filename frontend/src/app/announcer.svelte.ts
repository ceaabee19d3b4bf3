/** What changed, in words for those who do not see it. */

/** Held-down keys say only where they came to. */
const REST_MS = 250

class Announcer {
  text = $state('')
  private later = 0

  say(words: string): void {
    clearTimeout(this.later)
    // The same words once more are a change all the same.
    this.later = window.setTimeout(() => (this.text = this.text === words ? `${words}\u00a0` : words), REST_MS)
  }
}

export const announcer = new Announcer()
