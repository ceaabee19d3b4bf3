/** A form whose changes are taken back step by step. */
import { History } from './history'
import { produce } from './produce'
import { same } from './same'

export abstract class Undoing<F extends object> {
  undoLabel = $state<string | null>(null)
  redoLabel = $state<string | null>(null)
  protected readonly history = new History<F>()

  /** The form as it stands here. */
  abstract get form(): F
  /** While held a gesture goes on; letting go ends it. */
  abstract hold(on: boolean): void
  protected abstract put(form: F): void

  /** Change the form. Changes of one gesture (a drag, a field being typed into) are undone as one. */
  change(label: string, edit: (draft: F) => void, gesture: string | null = null): void {
    const draft = produce(this.form, edit)
    if (same(draft, this.form)) return
    this.history.note(this.form, label, gesture)
    this.put(draft)
  }

  /** Break a gesture off: what it changed is put back, and is no step. */
  abandon(gesture: string): void {
    this.back(this.history.abandon(gesture))
    this.hold(false)
  }

  undo(): void {
    this.back(this.history.undo(this.form))
  }

  redo(): void {
    this.back(this.history.redo(this.form))
  }

  protected label(): void {
    this.undoLabel = this.history.undoLabel
    this.redoLabel = this.history.redoLabel
  }

  private back(form: F | null): void {
    if (form) this.put(form)
  }
}
