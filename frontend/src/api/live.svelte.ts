/**
 * One record that is being edited. Every change can be undone, is kept in this browser at once, is saved immediately, and never overwrites somebody else's change.
 */
import { say, type Said } from '../words'
import { onReachable, Problem, Unreachable } from './client'
import { findDeletion } from './deletions'
import { type Draft, dropDraft, inWork, keepDraft, readDraft } from './drafts'
import type { Forms, Kind } from './forms'
import { linesOf } from './lines'
import { findRecord, type Kept, undelete, writeRecord } from './records'
import { same } from './same'
import { Undoing } from './undoing.svelte'

export type Saving = 'saved' | 'unsaved' | 'saving' | 'unreachable' | 'refused' | 'conflict' | 'gone'

const SAVE_AFTER_MS = 350
const LONGEST_WAIT_MS = 15_000

interface Told {
  kind: Kind
  id: string
  version: number
}

export class LiveRecord<K extends Kind> extends Undoing<Forms[K]> {
  state = $state<'loading' | 'ready' | 'missing' | 'failed'>('loading')
  /** Why it could not be loaded. */
  trouble = $state<unknown>(null)
  saving = $state<Saving>('saved')
  /** Why it was not saved, one line per fault. */
  faults = $state<readonly Said[]>([])
  version = $state(0)

  private current = $state.raw<Forms[K] | null>(null)
  private readonly channel = new BroadcastChannel('coldfield')
  private stored: Kept<Forms[K]> | null = null
  private theirs: Kept<Forms[K]> | null = null
  private timer: ReturnType<typeof setTimeout> | undefined
  private busy = false
  private held = false
  /** The form that is being sent. */
  private sent: Forms[K] | null = null
  private closed = false
  private failures = 0
  private readonly retry = (): void => void (this.saving === 'unreachable' && this.plan(0))
  private readonly deaf = onReachable((answers) => answers && this.retry())

  constructor(
    readonly kind: K,
    readonly id: string,
  ) {
    super()
    this.channel.onmessage = ({ data }: MessageEvent<Told>) => void this.heard(data)
    inWork.add(`${kind}.${id}`)
    addEventListener('focus', this.retry)
  }

  /** The current form. */
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

  /** Nothing is sent while held, so that a drag is saved once; releasing ends the gesture. */
  hold(on: boolean): void {
    this.held = on
    if (on) return
    this.history.endGesture()
    if (this.saving === 'unsaved') this.put(this.form)
  }

  /** After a conflict: replace the other change with the form here. */
  keepMine(): void {
    if (!this.theirs) return
    this.version = this.theirs.version
    this.stored = this.theirs
    this.theirs = null
    this.saving = 'unsaved'
    this.plan(0)
  }

  /** After a conflict: keep the other change; undo restores the form from here. */
  takeTheirs(): void {
    if (!this.theirs) return
    this.history.note(this.form, say('undo.other'))
    this.adopt(this.theirs)
    this.theirs = null
  }

  /** After a deletion elsewhere: restore the record with the form here. */
  async bringBack(): Promise<void> {
    try {
      const deletion = await findDeletion(this.kind, this.id)
      if (deletion) await undelete(deletion.id)
      await this.heardOf()
    } catch (error) {
      this.faults = linesOf(error)
    }
  }

  /** After a deletion elsewhere: leave the record deleted. */
  letGo(): void {
    dropDraft(this.kind, this.id)
    this.state = 'missing'
  }

  /** Save unsaved changes now, and stop listening. */
  close(): void {
    if (this.saving === 'unsaved') void this.save()
    this.closed = true
    clearTimeout(this.timer)
    this.channel.close()
    inWork.delete(`${this.kind}.${this.id}`)
    this.deaf()
    removeEventListener('focus', this.retry)
  }

  /** Wait until nothing is left to save, or saving failed. */
  async settled(): Promise<Saving> {
    clearTimeout(this.timer)
    if (this.saving === 'unsaved') await this.save()
    while (this.busy) await new Promise((done) => setTimeout(done, 20))
    return this.saving
  }

  /** Whether a person has to decide how to go on. */
  private get asking(): boolean {
    return this.saving === 'conflict' || this.saving === 'gone'
  }

  protected put(form: Forms[K]): void {
    this.current = form
    this.label()
    if (!this.asking) this.saving = 'unsaved'
    if (this.held) return
    keepDraft(this.kind, this.id, { form, version: this.version, sent: this.sent })
    if (this.saving === 'unsaved') this.plan(SAVE_AFTER_MS)
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

  /** Continue with changes that an earlier visit could not save. */
  private resume(stored: Kept<Forms[K]>, draft: Draft<Forms[K]>): void {
    if (same(draft.form, stored.form)) return
    keepDraft(this.kind, this.id, draft)
    this.history.note(stored.form, say('undo.earlier'))
    this.current = draft.form
    this.label()
    // The form that was being sent when the page was left has arrived; nobody else changed anything.
    if (draft.version === stored.version || (draft.sent && same(draft.sent, stored.form))) {
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
    if (this.busy || this.held || this.asking) return
    this.busy = true
    this.saving = 'saving'
    const sent = this.form
    this.sent = sent
    try {
      const written = await writeRecord(this.kind, this.id, sent, this.version, { keepalive: JSON.stringify(sent).length < 50_000 })
      this.wrote(written, sent)
    } catch (error) {
      await this.failed(error, sent)
    } finally {
      this.sent = null
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
    if (error instanceof Problem && (error.status === 412 || error.status === 409)) return this.meet(sent, error)
    if (this.current !== sent) return void (this.saving = 'unsaved')
    this.saving = 'refused'
    this.faults = linesOf(error)
  }

  private later(error: unknown): void {
    this.saving = 'unreachable'
    this.faults = error instanceof Problem ? linesOf(error) : []
    this.failures += 1
    if (!this.closed) this.plan(Math.min(1000 * 2 ** this.failures, LONGEST_WAIT_MS))
  }

  /** The stored record is not the version that this change is based on. */
  private async meet(sent: Forms[K], refusal: Problem): Promise<void> {
    try {
      const theirs = await findRecord(this.kind, this.id)
      if (!theirs) return await this.lost()
      if (refusal.status === 409) {
        this.saving = 'refused'
        this.faults = linesOf(refusal)
        return
      }
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

  /** The stored record is deleted; it can be restored unless it was removed for good. */
  private async lost(): Promise<void> {
    this.faults = []
    if (await findDeletion(this.kind, this.id)) this.saving = 'gone'
    else this.letGo()
  }

  /** The record was created, deleted or restored elsewhere. */
  private async heardOf(): Promise<void> {
    if (this.state === 'missing') return this.load()
    if (this.saving === 'saved' && (await findDeletion(this.kind, this.id))) return this.lost()
    const found = await findRecord(this.kind, this.id)
    if (!found && this.saving === 'saved') return this.lost()
    if (!found || this.saving !== 'gone') return
    this.stored = found
    this.version = found.version
    this.saving = 'unsaved'
    this.plan(0)
  }

  /** Another tab did something to this record. */
  private async heard(told: Told): Promise<void> {
    if (told.kind !== this.kind || told.id !== this.id) return
    if (told.version === 0) return this.heardOf().catch(() => undefined)
    if (told.version <= this.version) return
    if (this.state !== 'ready' || this.saving !== 'saved' || this.held) return
    const theirs = await findRecord(this.kind, this.id).catch(() => null)
    if (!theirs || theirs.version <= this.version || this.saving !== 'saved' || this.held) return
    this.history.note(this.form, say('undo.other'))
    this.adopt(theirs)
  }
}
