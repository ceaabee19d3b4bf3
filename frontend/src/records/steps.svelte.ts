/**
 * Undo steps on a page with several records: records created, deleted or changed. The record being edited has its own steps, which are undone first.
 */
import { Unreachable } from '../api/client'
import { lineOf } from '../api/lines'
import type { Forms, Kind } from '../api/forms'
import { createRecord, deleteRecord, readRecord, undelete, writeRecord } from '../api/records'
import { same } from '../api/same'
import { notices } from '../app/notices.svelte'
import type { Undoable } from '../app/undo.svelte'
import { say } from '../words'
import { tell } from './tabs'

interface Step {
  label: string
  undo: () => Promise<unknown>
  redo: () => Promise<unknown>
}

/** Show in one line why something was not done. */
export function tellTrouble(error: unknown): void {
  if (error instanceof Unreachable) return notices.say(say('records.needsService'))
  notices.say(say('records.notDone', { why: lineOf(error) }))
}

export class Steps implements Undoable {
  private past = $state.raw<Step[]>([])
  private future = $state.raw<Step[]>([])
  private busy = false

  /** `changed` is called after each step, undo or redo, to refresh the page. */
  constructor(
    private readonly changed: () => unknown,
    /** The record being edited, whose own steps are undone first. */
    private readonly inWork: () => Undoable | null = () => null,
  ) {}

  get undoLabel(): string | null {
    return this.inWork()?.undoLabel ?? this.past.at(-1)?.label ?? null
  }

  get redoLabel(): string | null {
    return this.inWork()?.redoLabel ?? this.future.at(-1)?.label ?? null
  }

  undo(): void {
    const first = this.inWork()
    if (first && first.undoLabel !== null) return void first.undo()
    void this.move(this.past, (rest) => (this.past = rest), (step) => (this.future = [...this.future, step]), 'undo')
  }

  redo(): void {
    const first = this.inWork()
    if (first && first.redoLabel !== null) return void first.redo()
    void this.move(this.future, (rest) => (this.future = rest), (step) => (this.past = [...this.past, step]), 'redo')
  }

  /** Refresh the page. */
  async refresh(): Promise<void> {
    await this.changed()
  }

  /** Add a step that has been done. */
  push(step: Step): void {
    this.past = [...this.past.slice(-99), step]
    this.future = []
  }

  /** Create a record; returns its id, or null if it could not be created. */
  async create<K extends Kind>(kind: K, form: Forms[K], label: string): Promise<string | null> {
    try {
      const made = await createRecord(kind, form)
      tell(kind, made.id)
      let deletion = ''
      this.push({
        label,
        undo: async () => (deletion = await this.take(kind, made.id)),
        redo: () => this.bring(kind, made.id, deletion),
      })
      await this.changed()
      return made.id
    } catch (error) {
      tellTrouble(error)
      return null
    }
  }

  /** Delete a record, with a notice at the bottom of the page that offers undo. */
  async remove(kind: Kind, id: string, label: string): Promise<boolean> {
    try {
      let deletion = await this.take(kind, id)
      const step: Step = {
        label,
        undo: () => this.bring(kind, id, deletion),
        redo: async () => (deletion = await this.take(kind, id)),
      }
      this.push(step)
      await this.changed()
      notices.say(label, () => this.undoStep(step))
      return true
    } catch (error) {
      tellTrouble(error)
      return false
    }
  }

  /** Change some fields of the current record; other people's changes to other fields stay. */
  async change<K extends Kind>(kind: K, id: string, fields: Partial<Forms[K]>, label: string): Promise<boolean> {
    try {
      const now = await readRecord(kind, id)
      const before = Object.fromEntries(Object.keys(fields).map((key) => [key, now.form[key as keyof Forms[K]]])) as Partial<Forms[K]>
      if (same(before, fields)) return true
      await this.put(kind, id, fields)
      this.push({ label, undo: () => this.put(kind, id, before), redo: () => this.put(kind, id, fields) })
      await this.changed()
      return true
    } catch (error) {
      tellTrouble(error)
      await this.changed()
      return false
    }
  }

  /** Write fields of the current record. */
  async put<K extends Kind>(kind: K, id: string, fields: Partial<Forms[K]>): Promise<void> {
    const now = await readRecord(kind, id)
    const written = await writeRecord(kind, id, { ...now.form, ...fields }, now.version)
    tell(kind, id, written.version)
  }

  /** Undo this particular step, whatever was done since. */
  private async undoStep(step: Step): Promise<void> {
    if (!this.past.includes(step)) return
    try {
      await step.undo()
      this.past = this.past.filter((one) => one !== step)
      this.future = [step, ...this.future]
      await this.changed()
    } catch (error) {
      tellTrouble(error)
    }
  }

  private async take(kind: Kind, id: string): Promise<string> {
    const deletion = await deleteRecord(kind, id)
    tell(kind, id)
    return deletion
  }

  private async bring(kind: Kind, id: string, deletion: string): Promise<void> {
    await undelete(deletion)
    tell(kind, id)
  }

  private async move(from: Step[], keep: (rest: Step[]) => void, on: (step: Step) => void, way: 'undo' | 'redo'): Promise<void> {
    const step = from.at(-1)
    if (!step || this.busy) return
    this.busy = true
    try {
      await step[way]()
      keep(from.slice(0, -1))
      on(step)
      await this.changed()
    } catch (error) {
      tellTrouble(error)
    } finally {
      this.busy = false
    }
  }
}
