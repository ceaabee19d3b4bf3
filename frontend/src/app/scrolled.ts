/** The scroll position of each step of the history, restored on going back, forward or reloading. */
const WRITE_AFTER_MS = 200
/** The content of a page may load late; if the person scrolls meanwhile, nothing is restored. */
const LONGEST_MS = 3_000
const LOOK_EVERY_MS = 50

export class Scrolled {
  private timer: ReturnType<typeof setTimeout> | undefined
  private going: ReturnType<typeof setInterval> | undefined

  constructor() {
    history.scrollRestoration = 'manual'
    addEventListener('scroll', () => {
      clearTimeout(this.timer)
      this.timer = setTimeout(() => this.write(), WRITE_AFTER_MS)
    })
    for (const name of ['wheel', 'touchstart', 'keydown', 'pointerdown']) addEventListener(name, () => this.stop(), { passive: true, capture: true })
    addEventListener('pagehide', () => this.write())
    this.restore()
  }

  /** The step is being left: store the position at once. */
  leave(): void {
    clearTimeout(this.timer)
    this.write()
    this.stop()
  }

  restore(): void {
    clearTimeout(this.timer)
    this.stop()
    const y = (history.state as { y?: number } | null)?.y ?? 0
    const until_ms = performance.now() + LONGEST_MS
    this.going = setInterval(() => {
      scrollTo(0, y)
      if (Math.abs(scrollY - y) < 2 || performance.now() > until_ms) this.stop()
    }, LOOK_EVERY_MS)
  }

  private stop(): void {
    clearInterval(this.going)
    this.going = undefined
  }

  private write(): void {
    if (this.going !== undefined) return
    history.replaceState({ ...(history.state as object | null), y: Math.round(scrollY) }, '')
  }
}
