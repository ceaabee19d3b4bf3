/** A single undo history for all records that a page changes. */
import { notices } from '../app/notices.svelte'
import type { Undoable } from '../app/undo.svelte'
import { say } from '../words'

type Act = () => unknown

interface Step {
  label: string
  undo: Act
  redo: Act
}

const MOST = 200

export class Undos implements Undoable {
  private past = $state.raw<Step[]>([])
  private future = $state.raw<Step[]>([])
  private gesture: string | null = null
  private busy = false

  get undoLabel(): string | null {
    return this.past.at(-1)?.label ?? null
  }

  get redoLabel(): string | null {
    return this.future.at(-1)?.label ?? null
  }

  /** Add a step; only the first change of a gesture is a new step. */
  note(label: string, undo: Act, redo: Act, gesture: string | null = null): void {
    if (gesture === null || gesture !== this.gesture || !this.past.length) {
      this.past = [...this.past, { label, undo, redo }].slice(-MOST)
    }
    this.gesture = gesture
    this.future = []
  }

  /** Remove the step of a cancelled gesture. */
  forget(gesture: string): void {
    if (this.gesture === gesture) this.past = this.past.slice(0, -1)
    this.gesture = null
  }

  async undo(): Promise<void> {
    const step = this.past.at(-1)
    if (!step || !(await this.act(step.undo))) return
    this.past = this.past.slice(0, -1)
    this.future = [...this.future, step]
  }

  async redo(): Promise<void> {
    const step = this.future.at(-1)
    if (!step || !(await this.act(step.redo))) return
    this.future = this.future.slice(0, -1)
    this.past = [...this.past, step]
  }

  /** Returns whether it succeeded; otherwise the step stays. */
  private async act(act: Act): Promise<boolean> {
    if (this.busy) return false
    this.busy = true
    this.gesture = null
    try {
      await act()
      return true
    } catch {
      notices.say(say('run.undoFailed'))
      return false
    } finally {
      this.busy = false
    }
  }
}
