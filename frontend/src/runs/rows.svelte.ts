/**
 * The splits and observations of a run. Each is a separate record, saved while typing, and never overwrites somebody else's change.
 */
import { askRaw, newId, Problem, Unreachable } from '../api/client'
import { findDeletion } from '../api/deletions'
import { allDrafts, dropDraft, inWork, keepDraft, readDraft } from '../api/drafts'
import type { Forms } from '../api/forms'
import { linesOf } from '../api/lines'
import { deleteRecord, findRecord, type Kept, undelete, writeRecord } from '../api/records'
import { same } from '../api/same'
import { say } from '../words'
import { formOfRow, Row, type RowKind, type Told, type Way } from './row.svelte'
import type { Undos } from './undos.svelte'

const AGAIN_MS = 2000

export class Rows<K extends RowKind> {
  rows = $state.raw<Row<K>[]>([])
  private closed = false
  private readonly channel = new BroadcastChannel('coldfield')

  constructor(
    readonly kind: K,
    readonly runId: string,
    private readonly undos: Undos,
    private readonly changed: () => void,
  ) {
    inWork.add(`${kind} of ${runId}`)
    this.channel.onmessage = ({ data }: MessageEvent<Told>) => void this.heard(data).catch(() => undefined)
  }

  get unsaved(): number {
    return this.rows.filter(({ saving }) => saving !== 'saved').length
  }

  /** Wait until nothing is being sent to the service. */
  async settled(): Promise<void> {
    while (!this.closed && this.rows.some(({ saving }) => saving === 'saving')) await new Promise((done) => setTimeout(done, 20))
  }

  async load(): Promise<void> {
    const found: Row<K>[] = []
    let after: string | null = null
    do {
      const query: string = after ? `&after=${after}` : ''
      const answer = await askRaw(`/api/${this.kind}?run_id=${encodeURIComponent(this.runId)}&limit=500${query}`)
      const page = (await answer.json()) as { items: { id: string; version: number }[]; next: string | null }
      found.push(...page.items.map((item) => new Row<K>(item.id, formOfRow(this.kind, item), item.version, this)))
      after = page.next
    } while (after)
    this.rows = found
    for (const [kind, id] of allDrafts()) if (kind === this.kind) await this.resume(id)
  }

  close(): void {
    this.closed = true
    this.channel.close()
    inWork.delete(`${this.kind} of ${this.runId}`)
  }

  add(form: Forms[K]): void {
    const row = new Row<K>(newId(), form, 0, this)
    this.rows = [...this.rows, row]
    void this.save(row)
    this.undos.note(
      say('run.undo.added'),
      () => this.take(row.id),
      () => this.bringBack(row.id),
    )
  }

  edit(row: Row<K>, form: Forms[K]): void {
    const before = row.form
    if (same(before, form)) return
    this.put(row.id, form)
    this.undos.note(
      say('run.undo.changed'),
      () => this.put(row.id, before),
      () => this.put(row.id, form),
    )
  }

  async remove(row: Row<K>): Promise<void> {
    await this.take(row.id)
    this.undos.note(
      say('run.undo.removed'),
      () => this.bringBack(row.id),
      () => this.take(row.id),
    )
  }

  private readonly deletions: Record<string, string> = {}
  private readonly gone: Record<string, Row<K>> = {}

  private async take(id: string): Promise<void> {
    const row = this.rows.find((one) => one.id === id)
    if (!row) return
    while (row.busy) await new Promise((done) => setTimeout(done, 20))
    if (row.version) {
      this.deletions[id] = await deleteRecord(this.kind, id)
      this.tell(id, 0)
    }
    dropDraft(this.kind, id)
    this.gone[id] = row
    this.rows = this.rows.filter((one) => one !== row)
    this.changed()
  }

  private async bringBack(id: string): Promise<void> {
    const deletion = this.deletions[id]
    if (deletion) {
      await undelete(deletion)
      this.tell(id, 0)
    }
    this.deletions[id] = ''
    const row = this.gone[id]
    if (!row) return
    this.rows = [...this.rows, row]
    if (!deletion) void this.save(row)
    this.changed()
  }

  private put(id: string, form: Forms[K]): void {
    const row = this.rows.find((one) => one.id === id)
    if (!row) return
    row.form = form
    void this.save(row)
  }

  /** Apply a person's choice after a change or a deletion elsewhere. */
  async decide(row: Row<K>, way: Way): Promise<void> {
    try {
      if (way === 'let go') return this.drop(row)
      if (way === 'bring back') return await this.bringBackAsHere(row)
      if (!row.theirs) return
      const mine = row.form
      const theirs: Forms[K] = row.theirs.form
      row.rest(row.theirs)
      row.saving = 'saved'
      if (way === 'mine') return void this.save(row)
      row.form = theirs
      dropDraft(this.kind, row.id)
      this.changed()
      this.undos.note(
        say('undo.other'),
        () => this.put(row.id, mine),
        () => this.put(row.id, theirs),
      )
    } catch (error) {
      row.faults = linesOf(error)
    }
  }

  private drop(row: Row<K>): void {
    dropDraft(this.kind, row.id)
    this.rows = this.rows.filter((one) => one !== row)
    this.changed()
  }

  private async bringBackAsHere(row: Row<K>): Promise<void> {
    const deletion = await findDeletion(this.kind, row.id)
    if (deletion) await undelete(deletion.id)
    const found = await findRecord(this.kind, row.id)
    if (!found) return this.drop(row)
    row.rest(found)
    row.saving = 'saved'
    void this.save(row)
  }

  private async save(row: Row<K>): Promise<void> {
    keepDraft(this.kind, row.id, { form: row.form, version: row.version })
    if (row.busy || row.asking) return
    row.busy = true
    while (!this.closed) {
      row.saving = row.saving === 'unreachable' ? 'unreachable' : 'saving'
      const sent = row.form
      try {
        this.wrote(row, await writeRecord(this.kind, row.id, sent, row.version), sent)
        if (row.form === sent) break
      } catch (error) {
        const done = await this.failed(row, sent, error)
        if (done) break
        if (row.saving === 'unreachable') await new Promise((then) => setTimeout(then, AGAIN_MS))
      }
    }
    row.busy = false
  }

  private wrote(row: Row<K>, written: Kept<Forms[K]>, sent: Forms[K]): void {
    row.rest(written)
    row.faults = []
    this.tell(row.id, written.version)
    if (row.form !== sent) return
    row.saving = 'saved'
    dropDraft(this.kind, row.id)
    this.changed()
  }

  /** Handle a failure; returns whether there is nothing more to try now. */
  private async failed(row: Row<K>, sent: Forms[K], error: unknown): Promise<boolean> {
    const status = error instanceof Problem ? error.status : 0
    if (error instanceof Unreachable || (error instanceof Problem && error.passing)) row.saving = 'unreachable'
    else if (status === 412 || status === 409) return this.meet(row, sent, error)
    else if (row.form === sent) return this.refuse(row, error)
    return false
  }

  private refuse(row: Row<K>, error: unknown): true {
    row.saving = 'refused'
    row.faults = linesOf(error)
    return true
  }

  /** The stored row is not the version that this change is based on; returns whether a person has to decide. */
  private async meet(row: Row<K>, sent: Forms[K], refusal: unknown): Promise<boolean> {
    try {
      const theirs = await findRecord(this.kind, row.id)
      if (!theirs) {
        if (await findDeletion(this.kind, row.id)) row.saving = 'gone'
        else this.drop(row)
        return true
      }
      const known = theirs.version === row.version
      if (known) return this.refuse(row, refusal)
      if (same(theirs.form, sent) || (row.stored && same(theirs.form, row.stored))) {
        row.rest(theirs)
        return false
      }
      row.theirs = theirs
      row.saving = 'conflict'
      return true
    } catch {
      row.saving = 'unreachable'
      return false
    }
  }

  private tell(id: string, version: number): void {
    if (!this.closed) this.channel.postMessage({ kind: this.kind, id, version } satisfies Told)
  }

  /** Another tab did something to a row, of this run or of another. */
  private async heard(told: Told): Promise<void> {
    const row = this.rows.find((one) => one.id === told.id)
    if (told.kind !== this.kind || !told.id || (row && (row.saving !== 'saved' || row.busy))) return
    if (row && told.version && told.version <= row.version) return
    const found = await findRecord(this.kind, told.id)
    const now = this.rows.find((one) => one.id === told.id)
    if (now && now.saving !== 'saved') return
    if (!found) {
      if (now) this.drop(now)
    } else if (!now) {
      if (found.form.run_id !== this.runId) return
      const form = formOfRow(this.kind, found.form)
      this.rows = [...this.rows, new Row<K>(found.id, form, found.version, this)]
      this.changed()
    } else if (found.version > now.version) {
      now.rest(found)
      now.form = formOfRow(this.kind, found.form)
      this.changed()
    }
  }

  /** Continue with a row that an earlier visit could not save. */
  private async resume(id: string): Promise<void> {
    const draft = readDraft<Forms[K]>(this.kind, id)
    if (!draft || draft.form.run_id !== this.runId) return
    const row = this.rows.find((one) => one.id === id)
    if (row && same(row.form, draft.form)) return dropDraft(this.kind, id)
    if (!row && draft.version && (await findDeletion(this.kind, id)) === null) return dropDraft(this.kind, id)
    const target = row ?? new Row<K>(id, draft.form, draft.version, this)
    if (row && draft.version !== row.version) {
      row.theirs = { id, form: row.form, version: row.version }
      row.saving = 'conflict'
    }
    target.form = draft.form
    if (!row) this.rows = [...this.rows, target]
    if (!row && draft.version) target.saving = 'gone'
    void this.save(target)
  }
}
