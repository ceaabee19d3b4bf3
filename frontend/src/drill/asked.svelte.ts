/** One request to the service at a time: the latest wins, and the last answer stays until the next arrives. */
const WAIT_MS = 250

export class Asked<T> {
  value = $state.raw<T | null>(null)
  /** Whether the value is outdated. */
  stale = $state(false)
  error = $state.raw<unknown>(null)
  private key: string | null = null
  private stop: AbortController | null = null
  private timer: ReturnType<typeof setTimeout> | undefined
  private last: (() => void) | null = null

  /** Send a question, unless its answer is already here or on its way. */
  ask(key: string, question: (signal: AbortSignal) => Promise<T>, wait_ms = WAIT_MS): void {
    if (key === this.key) return
    this.forget()
    this.key = key
    this.stale = true
    this.last = () => void this.run(question)
    this.timer = setTimeout(this.last, this.value === null ? 0 : wait_ms)
  }

  again(): void {
    this.error = null
    this.stale = true
    this.last?.()
  }

  /** Cancel everything. */
  clear(): void {
    this.forget()
    this.key = null
    this.value = null
    this.error = null
    this.stale = false
  }

  private forget(): void {
    clearTimeout(this.timer)
    this.stop?.abort()
    this.stop = null
  }

  private async run(question: (signal: AbortSignal) => Promise<T>): Promise<void> {
    const stop = new AbortController()
    this.stop = stop
    try {
      const value = await question(stop.signal)
      if (this.stop !== stop) return
      this.value = value
      this.error = null
      this.stale = false
    } catch (error) {
      if (this.stop !== stop || stop.signal.aborted) return
      this.error = error
      this.stale = false
    }
  }
}
