/** Undo and redo over whole values; changes of one gesture are one step. */
interface Step<V> {
  value: V
  label: string
}

export class History<V> {
  private past: Step<V>[] = []
  private future: Step<V>[] = []
  private gesture: string | null = null

  constructor(private readonly most = 200) {}

  /** Note the value before a change; a further change of the same gesture is not a new step. */
  note(before: V, label: string, gesture: string | null = null): void {
    if (gesture === null || gesture !== this.gesture || !this.past.length) {
      this.past = [...this.past, { value: before, label }].slice(-this.most)
    }
    this.gesture = gesture
    this.future = []
  }

  endGesture(): void {
    this.gesture = null
  }

  /** Remove a gesture's step; return the value before it, or null if it changed nothing. */
  abandon(gesture: string): V | null {
    const step = this.gesture === gesture ? this.past.pop() : undefined
    this.gesture = null
    return step?.value ?? null
  }

  get undoLabel(): string | null {
    return this.past.at(-1)?.label ?? null
  }

  get redoLabel(): string | null {
    return this.future.at(-1)?.label ?? null
  }

  undo(now: V): V | null {
    return this.move(now, this.past, this.future)
  }

  redo(now: V): V | null {
    return this.move(now, this.future, this.past)
  }

  private move(now: V, from: Step<V>[], to: Step<V>[]): V | null {
    const step = from.pop()
    if (!step) return null
    this.gesture = null
    to.push({ value: now, label: step.label })
    return step.value
  }
}
