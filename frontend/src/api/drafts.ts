/** What was changed here and is not saved yet, kept in this browser until it is. */
export interface Draft<F> {
  form: F
  /** The version the change was made on. */
  version: number
}

const name = (kind: string, id: string): string => `coldfield.draft.${kind}.${id}`

export function keepDraft<F>(kind: string, id: string, draft: Draft<F>): void {
  try {
    localStorage.setItem(name(kind, id), JSON.stringify(draft))
  } catch {
    // A full or forbidden store: the change still stands on the page and is sent as soon as may be.
  }
}

export function readDraft<F>(kind: string, id: string): Draft<F> | null {
  try {
    const text = localStorage.getItem(name(kind, id))
    return text === null ? null : (JSON.parse(text) as Draft<F>)
  } catch {
    return null
  }
}

export function dropDraft(kind: string, id: string): void {
  try {
    localStorage.removeItem(name(kind, id))
  } catch {
    // Nothing was kept.
  }
}
