/** One split or observation on the page, and its state relative to the service. */
import type { Said } from '../words'
import { FIELDS, type Forms } from '../api/forms'
import type { Kept } from '../api/records'

export type RowKind = 'splits' | 'observations'
export type Saving = 'saved' | 'saving' | 'unreachable' | 'refused' | 'conflict' | 'gone'
/** The choices for a row that was changed or deleted elsewhere. */
export type Way = 'mine' | 'theirs' | 'bring back' | 'let go'

/** A message between tabs about a row; version 0: it was deleted or restored. */
export interface Told {
  kind: string
  id: string
  version: number
}

interface Decides<K extends RowKind> {
  decide(row: Row<K>, way: Way): Promise<void>
}

export class Row<K extends RowKind> {
  form = $state.raw<Forms[K]>() as Forms[K]
  saving = $state<Saving>('saved')
  faults = $state<readonly Said[]>([])
  version = 0
  busy = false
  /** The version on the service when last read or written; null if it was never there. */
  stored: Forms[K] | null
  /** Somebody else's version. */
  theirs: Kept<Forms[K]> | null = null

  constructor(
    readonly id: string,
    form: Forms[K],
    version: number,
    private readonly rows: Decides<K>,
  ) {
    this.form = form
    this.version = version
    this.stored = version ? form : null
  }

  /** Whether a person has to decide how to go on. */
  get asking(): boolean {
    return this.saving === 'conflict' || this.saving === 'gone'
  }

  async decide(way: Way): Promise<void> {
    await this.rows.decide(this, way)
  }

  /** Use the service's version as the new base; the form on the page stays. */
  rest(on: Kept<Forms[K]>): void {
    this.version = on.version
    this.stored = on.form
    this.theirs = null
  }
}

/** The form inside a stored row. */
export function formOfRow<K extends RowKind>(kind: K, item: object): Forms[K] {
  const all = item as Record<PropertyKey, unknown>
  const fields: readonly PropertyKey[] = FIELDS[kind]
  return Object.fromEntries(fields.map((field) => [field, all[field] ?? (field === 'note' ? '' : null)])) as Forms[K]
}
