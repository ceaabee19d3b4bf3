/** The splits and observations of a run: each a record of its own, saved as it is typed. */
import { askRaw, newId, Problem, Unreachable } from '../api/client'
import { allDrafts, dropDraft, inWork, keepDraft, readDraft } from '../api/drafts'
import type { Forms } from '../api/forms'
import { linesOf } from '../api/lines'
import { deleteRecord, findRecord, type Kept, undelete, writeRecord } from '../api/records'
import { same } from '../api/same'
import { say } from '../words'
import type { Undos } from './undos.svelte'

export type RowKind = 'splits' | 'observations'
export type Saving = 'saved' | 'saving' | 'unreachable' | 'refused'

const AGAIN_MS = 2000

export class Row<K extends RowKind> {
  form = $state.raw<Forms[K]>() as Forms[K]
  saving = $state<Saving>('saved')
  faults = $state<string[]>([])
  version = 0
  /** Grows with each try, so that an overtaken one is not taken for the last. */
  busy = false

  constructor(
    readonly id: string,
    form: Forms[K],
    version: number,
  ) {
    this.form = form
    this.version = version
  }
}

export class Rows<K extends RowKind> {
  rows = $state.raw<Row<K>[]>([])
  private closed = false

  constructor(
    readonly kind: K,
    readonly runId: string,
    private readonly undos: Undos,
    private readonly changed: () => void,
  ) {
    inWork.add(`${kind} of ${runId}`)
  }

  get unsaved(): number {
    return this.rows.filter(({ saving }) => saving !== 'saved').length
  }

  async load(): Promise<void> {
    const found: Row<K>[] = []
    let after: string | null = null
    do {
      const query: string = after ? `&after=${after}` : ''
      const answer = await askRaw(`/api/${this.kind}?run_id=${encodeURIComponent(this.runId)}&limit=500${query}`)
      const page = (await answer.json()) as { items: { id: string; version: number }[]; next: string | null }
      found.push(...page.items.map((item) => new Row<K>(item.id, formOfRow(this.kind, item), item.version)))
      after = page.next
    } while (after)
    this.rows = found
    for (const [kind, id] of allDrafts()) if (kind === this.kind) this.resume(id)
  }

  close(): void {
    this.closed = true
    inWork.delete(`${this.kind} of ${this.runId}`)
  }

  add(form: Forms[K]): void {
    const row = new Row<K>(newId(), form, 0)
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
    if (row.version) this.deletions[id] = await deleteRecord(this.kind, id)
    dropDraft(this.kind, id)
    this.gone[id] = row
    this.rows = this.rows.filter((one) => one !== row)
    this.changed()
  }

  private async bringBack(id: string): Promise<void> {
    const deletion = this.deletions[id]
    if (deletion) await undelete(deletion)
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

  private async save(row: Row<K>): Promise<void> {
    keepDraft(this.kind, row.id, { form: row.form, version: row.version })
    if (row.busy) return
    row.busy = true
    while (!this.closed) {
      row.saving = row.saving === 'unreachable' ? 'unreachable' : 'saving'
      const sent = row.form
      try {
        this.wrote(row, await writeRecord(this.kind, row.id, sent, row.version), sent)
        if (row.form === sent) break
      } catch (error) {
        if (error instanceof Unreachable || (error instanceof Problem && error.passing)) row.saving = 'unreachable'
        else if (error instanceof Problem && error.status === 412 && (await this.newer(row))) continue
        else if (row.form === sent) {
          row.saving = 'refused'
          row.faults = linesOf(error)
          break
        }
        await new Promise((done) => setTimeout(done, AGAIN_MS))
      }
    }
    row.busy = false
  }

  private wrote(row: Row<K>, written: Kept<Forms[K]>, sent: Forms[K]): void {
    row.version = written.version
    row.faults = []
    if (row.form !== sent) return
    row.saving = 'saved'
    dropDraft(this.kind, row.id)
    this.changed()
  }

  /** Somebody else changed the same row: what stands here goes on top of theirs. */
  private async newer(row: Row<K>): Promise<boolean> {
    const found = await findRecord(this.kind, row.id).catch(() => null)
    if (!found || found.version === row.version) return false
    row.version = found.version
    return true
  }

  /** Go on with a row that an earlier visit could not save. */
  private resume(id: string): void {
    const draft = readDraft<Forms[K]>(this.kind, id)
    if (!draft || draft.form.run_id !== this.runId) return
    const row = this.rows.find((one) => one.id === id)
    if (row && same(row.form, draft.form)) return dropDraft(this.kind, id)
    if (!row && draft.version) return dropDraft(this.kind, id)
    const target = row ?? new Row<K>(id, draft.form, 0)
    target.form = draft.form
    if (!row) this.rows = [...this.rows, target]
    void this.save(target)
  }
}

function formOfRow<K extends RowKind>(kind: K, item: object): Forms[K] {
  const all = item as Record<string, unknown>
  const fields = kind === 'splits' ? SPLIT_FIELDS : OBSERVATION_FIELDS
  return Object.fromEntries(fields.map((field) => [field, all[field] ?? (field === 'note' ? '' : null)])) as Forms[K]
}

const SPLIT_FIELDS = ['run_id', 'split', 'searcher', 'burial', 'time_unix_s', 'since_alarm_s', 'note']
const OBSERVATION_FIELDS = ['run_id', 'about', 'seen', 'searcher', 'burial', 'time_unix_s', 'since_alarm_s', 'note']
