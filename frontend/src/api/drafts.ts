/** What was changed here and is not saved yet, kept in this browser until it is. */
export interface Draft<F> {
  form: F
  /** The version the change was made on. */
  version: number
  /** When it was kept, ms since 1970. */
  at_ms?: number
}

const START = 'coldfield.draft.'
const name = (kind: string, id: string): string => `${START}${kind}.${id}`

/** What this tab has open and saves itself: `kind.id`, or `kind of run`. */
export const inWork = new Set<string>()

export function keepDraft<F>(kind: string, id: string, draft: Draft<F>): void {
  try {
    localStorage.setItem(name(kind, id), JSON.stringify({ ...draft, at_ms: Date.now() }))
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

/** Kind and id of every draft in this browser. */
export function allDrafts(): [string, string][] {
  try {
    return Object.keys(localStorage).flatMap((key): [string, string][] => {
      const [kind = '', id = ''] = key.startsWith(START) ? key.slice(START.length).split('.') : []
      return kind && id ? [[kind, id]] : []
    })
  } catch {
    return []
  }
}

export function dropDraft(kind: string, id: string): void {
  try {
    localStorage.removeItem(name(kind, id))
  } catch {
    // Nothing was kept.
  }
}
