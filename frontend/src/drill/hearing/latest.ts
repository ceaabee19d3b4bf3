/** One question at a time, and of those that come meanwhile only the newest: nothing queues. */

interface Options<Question, Answer> {
  ask: (question: Question, signal: AbortSignal) => Promise<Answer>
  /** An answer that still matters. */
  answered: (answer: Answer, question: Question) => void
  /** It failed; true: ask the newest again after a while. */
  failed: (error: unknown) => boolean
  /** Wait before asking again, ms. */
  again_ms?: number
}

export class Latest<Question, Answer> {
  private running: AbortController | null = null
  private next: Question | null = null
  private timer: ReturnType<typeof setTimeout> | null = null

  constructor(private readonly options: Options<Question, Answer>) {}

  /** Whether an answer is awaited. */
  get busy(): boolean {
    return this.running !== null || this.timer !== null
  }

  /** Ask, or replace what waits to be asked; `drop`: what runs now no longer matters. */
  want(question: Question, drop = false): void {
    if (drop) this.stop()
    this.next = question
    if (!this.running && this.timer === null) void this.run()
  }

  /** Let go of everything. */
  stop(): void {
    this.running?.abort()
    this.running = null
    this.next = null
    if (this.timer !== null) clearTimeout(this.timer)
    this.timer = null
  }

  private async run(): Promise<void> {
    while (this.next !== null) {
      const question = this.next
      const own = new AbortController()
      this.next = null
      this.running = own
      try {
        const answer = await this.options.ask(question, own.signal)
        if (this.running !== own) return
        this.options.answered(answer, question)
      } catch (error) {
        if (this.running !== own) return
        this.running = null
        if (!this.options.failed(error)) continue
        this.later(this.next ?? question)
        return
      }
      this.running = null
    }
  }

  private later(question: Question): void {
    this.next = question
    this.timer = setTimeout(() => {
      this.timer = null
      void this.run()
    }, this.options.again_ms ?? 700)
  }
}
