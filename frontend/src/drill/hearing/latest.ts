/** One request at a time, followed by the newest of those made meanwhile, so that nothing queues. */

interface Options<Question, Answer> {
  ask: (question: Question, signal: AbortSignal) => Promise<Answer>
  /** Called with an answer that is still wanted. */
  answered: (answer: Answer, question: Question) => void
  /** Called on failure; returns true to repeat the newest request later. */
  failed: (error: unknown) => boolean
  /** The wait before a repeat, ms. */
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

  /** Send a request, or replace the waiting one; `drop` discards the one that is running. */
  want(question: Question, drop = false): void {
    if (drop) this.stop()
    this.next = question
    if (!this.running && this.timer === null) void this.run()
  }

  /** Cancel everything. */
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
