/**
 * One record being worked on: every change can be undone, is kept in this browser at once, saved as it
 * happens, and never writes over what somebody else changed meanwhile.
 */
import { say } from '../words'
import { Problem, Unreachable } from './client'
import { type Draft, dropDraft, keepDraft, readDraft } from './drafts'
import type { Forms, Kind } from './forms'
import { History } from './history'
import { produce } from './produce'
import { findRecord, type Kept, writeRecord } from './records'
import { same } from './same'

export type Saving = 'saved' | 'unsaved' | 'saving' | 'unreachable' | 'refused' | 'conflict'

const SAVE_AFTER_MS = 350
const LONGEST_WAIT_MS = 15_000

interface Told {
  kind: Kind
  id: string
  version: number
}

export class LiveRecord<K extends Kind> {
  state = $state<'loading' | 'ready' | 'missing' | 'failed'>('loading')
  /** Why it could not be loaded. */
  trouble = $state<unknown>(null)
  saving = $state<Saving>('saved')
  /** Why it was not saved, a line each. */
  faults = $state<string[]>([])
  version = $state(0)
  undoLabel = $state<string | null>(null)
  redoLabel = $state<string | null>(null)

  private current = $state.raw<Forms[K] | null>(null)
  private readonly history = new History<Forms[K]>()
  private readonly channel = new BroadcastChannel('coldfield')
  private stored: Kept<Forms[K]> | null = null
  private theirs: Kept<Forms[K]> | null = null
  private timer: ReturnType<typeof setTimeout> | undefined
  private busy = false
  private held = false
  private closed = false
  private failures = 0
  private readonly retry = (): void => void (this.saving === 'unreachable' && this.plan(0))

  constructor(
    readonly kind: K,
    readonly id: string,
  ) {
    this.channel.onmessage = ({ data }: MessageEvent<Told>) => void this.heard(data)
    addEventListener('online', this.retry)
    addEventListener('focus', this.retry)
  }

  /** The form as it stands here. */
  get form(): Forms[K] {
    if (this.current === null) throw new Error('not loaded yet')
    return this.current
  }

  async load(): Promise<void> {
    this.state = 'loading'
    try {
      const found = await findRecord(this.kind, this.id)
      if (this.closed) return
      if (found === null) return void (this.state = 'missing')
      const draft = readDraft<Forms[K]>(this.kind, this.id)
      this.adopt(found)
      if (draft) this.resume(found, draft)
      this.state = 'ready'
    } catch (error) {
      this.trouble = error
      this.state = 'failed'
    }
  }

  /** Change the form. Changes of one gesture (a drag, a field being typed into) are undone as one. */
  change(label: string, edit: (draft: Forms[K]) => void, gesture: string | null = null): void {
    const draft = produce(this.form, edit)
    if (same(draft, this.form)) return
    this.history.note(this.form, label, gesture)
    this.put(draft)
  }

  /** While held nothing is sent, so that a drag is one save; letting go ends the gesture. */
  hold(on: boolean): void {
    this.held = on
    if (on) return
    this.history.endGesture()
    if (this.saving === 'unsaved') this.put(this.form)
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

  /** After a conflict: what stands here replaces the other change. */
  keepMine(): void {
    if (!this.theirs) return
    this.version = this.theirs.version
    this.stored = this.theirs
    this.theirs = null
    this.saving = 'unsaved'
    this.plan(0)
  }

  /** After a conflict: the other change stands; what stood here can be had back by undo. */
  takeTheirs(): void {
    if (!this.theirs) return
    this.history.note(this.form, say('undo.other'))
    this.adopt(this.theirs)
    this.theirs = null
  }

  /** Save now what is not saved, and stop listening. */
  close(): void {
    if (this.saving === 'unsaved') void this.save()
    this.closed = true
    clearTimeout(this.timer)
    this.channel.close()
    removeEventListener('online', this.retry)
    removeEventListener('focus', this.retry)
  }

  /** Wait until nothing is left to save, or saving failed. */
  async settled(): Promise<Saving> {
    clearTimeout(this.timer)
    if (this.saving === 'unsaved') await this.save()
    while (this.busy) await new Promise((done) => setTimeout(done, 20))
    return this.saving
  }

  private put(form: Forms[K]): void {
    this.current = form
    this.label()
    if (this.saving !== 'conflict') this.saving = 'unsaved'
    if (this.held) return
    keepDraft(this.kind, this.id, { form, version: this.version })
    if (this.saving === 'unsaved') this.plan(SAVE_AFTER_MS)
  }

  private back(form: Forms[K] | null): void {
    if (form) this.put(form)
  }

  private label(): void {
    this.undoLabel = this.history.undoLabel
    this.redoLabel = this.history.redoLabel
  }

  private adopt(record: Kept<Forms[K]>): void {
    this.stored = record
    this.current = record.form
    this.version = record.version
    this.saving = 'saved'
    this.faults = []
    this.label()
    dropDraft(this.kind, this.id)
  }

  /** Go on with what an earlier visit could not save. */
  private resume(stored: Kept<Forms[K]>, draft: Draft<Forms[K]>): void {
    if (same(draft.form, stored.form)) return
    keepDraft(this.kind, this.id, draft)
    this.history.note(stored.form, say('undo.earlier'))
    this.current = draft.form
    this.label()
    if (draft.version === stored.version) {
      this.saving = 'unsaved'
      return this.plan(0)
    }
    this.theirs = stored
    this.saving = 'conflict'
  }

  private plan(after_ms: number): void {
    clearTimeout(this.timer)
    this.timer = setTimeout(() => void this.save(), after_ms)
  }

  private async save(): Promise<void> {
    if (this.busy || this.held || this.saving === 'conflict') return
    this.busy = true
    this.saving = 'saving'
    const sent = this.form
    try {
      const written = await writeRecord(this.kind, this.id, sent, this.version, { keepalive: JSON.stringify(sent).length < 50_000 })
      this.wrote(written, sent)
    } catch (error) {
      await this.failed(error, sent)
    } finally {
      this.busy = false
    }
    if (this.changedMeanwhile() && !this.closed) this.plan(SAVE_AFTER_MS)
  }

  private changedMeanwhile(): boolean {
    return this.saving === 'unsaved'
  }

  private wrote(written: Kept<Forms[K]>, sent: Forms[K]): void {
    this.failures = 0
    this.faults = []
    this.stored = written
    this.version = written.version
    if (this.current === sent) {
      this.saving = 'saved'
      dropDraft(this.kind, this.id)
    } else {
      this.saving = 'unsaved'
      keepDraft(this.kind, this.id, { form: this.form, version: this.version })
    }
    if (!this.closed) this.channel.postMessage({ kind: this.kind, id: this.id, version: written.version } satisfies Told)
  }

  private async failed(error: unknown, sent: Forms[K]): Promise<void> {
    keepDraft(this.kind, this.id, { form: this.form, version: this.version })
    if (error instanceof Unreachable || (error instanceof Problem && error.passing)) return this.later(error)
    if (error instanceof Problem && error.status === 412) return this.meet(sent)
    if (this.current !== sent) return void (this.saving = 'unsaved')
    this.saving = 'refused'
    this.faults = error instanceof Problem ? error.faults : [String(error)]
  }

  private later(error: unknown): void {
    this.saving = 'unreachable'
    this.faults = error instanceof Problem ? error.faults : []
    this.failures += 1
    if (!this.closed) this.plan(Math.min(1000 * 2 ** this.failures, LONGEST_WAIT_MS))
  }

  /** The stored record is not the one this was made on. */
  private async meet(sent: Forms[K]): Promise<void> {
    try {
      const theirs = await findRecord(this.kind, this.id)
      if (!theirs) return void (this.state = 'missing')
      const onlyVersion = this.stored && same(theirs.form, this.stored.form)
      if (same(theirs.form, sent) || onlyVersion) {
        this.stored = theirs
        this.version = theirs.version
        this.saving = 'unsaved'
        return
      }
      this.theirs = theirs
      this.saving = 'conflict'
    } catch (error) {
      this.later(error)
    }
  }

  /** Another tab saved this record. */
  private async heard(told: Told): Promise<void> {
    if (told.kind !== this.kind || told.id !== this.id || told.version <= this.version) return
    if (this.state !== 'ready' || this.saving !== 'saved' || this.held) return
    const theirs = await findRecord(this.kind, this.id).catch(() => null)
    if (!theirs || theirs.version <= this.version || this.saving !== 'saved' || this.held) return
    this.history.note(this.form, say('undo.other'))
    this.adopt(theirs)
  }
}
