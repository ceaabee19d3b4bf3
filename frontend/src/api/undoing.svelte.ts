/** A form with undo and redo. */
import { History } from './history'
import { produce } from './produce'
import { same } from './same'

export abstract class Undoing<F extends object> {
  undoLabel = $state<string | null>(null)
  redoLabel = $state<string | null>(null)
  protected readonly history = new History<F>()

  /** The current form. */
  abstract get form(): F
  /** A gesture lasts while held; releasing ends it. */
  abstract hold(on: boolean): void
  protected abstract put(form: F): void

  /** Change the form. Changes of one gesture (a drag, a field being typed into) are undone as one. */
  change(label: string, edit: (draft: F) => void, gesture: string | null = null): void {
    const draft = produce(this.form, edit)
    if (same(draft, this.form)) return
    this.history.note(this.form, label, gesture)
    this.put(draft)
  }

  /** Cancel a gesture: its changes are reverted and do not become a step. */
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
