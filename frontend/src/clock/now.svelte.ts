/** The current time, for values on a page. */
class Now {
  ms = $state(Date.now())
  /** The page's own clock, ms, which cannot be set. */
  page_ms = $state(performance.now())

  constructor() {
    setInterval(() => this.read(), 200)
    document.addEventListener('visibilitychange', () => this.read())
  }

  read(): void {
    this.ms = Date.now()
    this.page_ms = performance.now()
  }
}

export const now = new Now()
