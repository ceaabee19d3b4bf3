/**
 * Changes made while the service was gone, on a page that has been left since. They are sent once the service answers, but never over somebody else's change; such conflicts are shown for a decision.
 */
import { Problem } from './client'
import { allDrafts, type Draft, dropDraft, inWork, readDraft } from './drafts'
import { FIELDS, type Forms, type Kind } from './forms'
import { findDeletion } from './deletions'
import { findRecord, writeRecord } from './records'
import { same } from './same'
import { tell } from '../records/tabs'

export interface LeftBehind {
  name: string
  href: string
}

const AFTER_MS = 3_000
/** A draft may still be open in another tab, which then saves it. */
const RESTED_MS = 3_000

class Left {
  waiting = $state.raw<readonly LeftBehind[]>([])
  private timer: ReturnType<typeof setTimeout> | undefined
  private busy = false

  /** Send the drafts left behind, after a short wait. */
  soon(): void {
    clearTimeout(this.timer)
    this.timer = setTimeout(() => void this.send(), AFTER_MS)
  }

  private async send(): Promise<void> {
    if (this.busy) return this.soon()
    this.busy = true
    const waiting: LeftBehind[] = []
    for (const [kind, id] of allDrafts()) {
      const found = kind in FIELDS ? await this.one(kind as Kind, id).catch(() => null) : null
      if (found) waiting.push(found)
    }
    this.waiting = waiting
    this.busy = false
  }

  /** Send one draft; return it if saving needs a person's decision. */
  private async one<K extends Kind>(kind: K, id: string): Promise<LeftBehind | null> {
    const draft = readDraft<Forms[K]>(kind, id)
    if (!draft || inWork.has(`${kind}.${id}`) || inWork.has(`${kind} of ${runOf(draft.form)}`)) return null
    if (Date.now() - (draft.at_ms ?? 0) < RESTED_MS) {
      this.soon()
      return null
    }
    try {
      const { version } = await writeRecord(kind, id, draft.form, draft.version)
      if (same(readDraft(kind, id), draft)) dropDraft(kind, id)
      tell(kind, id, version)
      return null
    } catch (error) {
      if (!(error instanceof Problem) || error.passing) throw error
      return (await this.settled(kind, id, draft)) ? null : leftBehind(kind, id, draft)
    }
  }

  /** Whether nothing needs a decision: the change is already stored, or the record is gone for good. */
  private async settled<K extends Kind>(kind: K, id: string, draft: Draft<Forms[K]>): Promise<boolean> {
    const found = await findRecord(kind, id)
    const over = found ? same(found.form, draft.form) : draft.version > 0 && (await findDeletion(kind, id)) === null
    if (over) dropDraft(kind, id)
    return over
  }
}

function runOf(form: object): string {
  return (form as { run_id?: string }).run_id ?? ''
}

function leftBehind(kind: Kind, id: string, { form }: Draft<object>): LeftBehind {
  const { name, label, document, split, about } = form as Record<string, string | undefined> & { document?: { name: string } }
  const told = name ?? label ?? document?.name ?? split ?? about ?? id
  const run = runOf(form)
  if (run) return { name: told, href: `/runs/${run}?step=splits` }
  return { name: told, href: kind === 'kit' ? `/kit?find=${encodeURIComponent(told)}` : `/${kind}/${id}` }
}

export const left = new Left()
