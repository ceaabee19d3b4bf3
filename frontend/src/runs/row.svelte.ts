/** One split or observation as it stands here, and how it stands with the service. */
import type { Said } from '../words'
import { FIELDS, type Forms } from '../api/forms'
import type { Kept } from '../api/records'

export type RowKind = 'splits' | 'observations'
export type Saving = 'saved' | 'saving' | 'unreachable' | 'refused' | 'conflict' | 'gone'
/** How a person goes on where a row was changed or deleted elsewhere. */
export type Way = 'mine' | 'theirs' | 'bring back' | 'let go'

/** What tabs tell each other of a row; version 0: it is gone, or is back. */
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
  /** As the service had it when it was last read or written, null where it never had. */
  stored: Forms[K] | null
  /** What somebody else made of it meanwhile. */
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

  /** Whether the person has to say how to go on. */
  get asking(): boolean {
    return this.saving === 'conflict' || this.saving === 'gone'
  }

  async decide(way: Way): Promise<void> {
    await this.rows.decide(this, way)
  }

  /** Stand on what the service has now; the form stays as it stands here. */
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
