/** Unsaved changes, kept in this browser until they are saved. */
export interface Draft<F> {
  form: F
  /** The version that the change is based on. */
  version: number
  /** The form that was being sent at that moment. */
  sent?: F | null
  /** When it was kept, ms since 1970. */
  at_ms?: number
}

const START = 'coldfield.draft.'
const name = (kind: string, id: string): string => `${START}${kind}.${id}`

/** The records that this tab has open and saves itself: `kind.id`, or `kind of run`. */
export const inWork = new Set<string>()

export function keepDraft<F>(kind: string, id: string, draft: Draft<F>): void {
  try {
    localStorage.setItem(name(kind, id), JSON.stringify({ ...draft, at_ms: Date.now() }))
  } catch {
    // The storage is full or forbidden; the change is still on the page and is sent as soon as possible.
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
    // Nothing is kept there.
  }
}

/** Replace somebody's name in every draft of this browser; other changes in the drafts stay. */
export function takeOutOfDrafts(name: string, instead: string): void {
  const words = name.normalize('NFC').trim().split(/\s+/u).map((word) => word.replace(/[.*+?^${}()|[\]\\]/gu, '\\$&'))
  const whole = new RegExp(`(?<!\\p{L})${words.join('\\s+')}(?!\\p{L})`, 'giu')
  const taken = (value: unknown): unknown => {
    if (typeof value === 'string') return value.normalize('NFC').replace(whole, () => instead)
    if (Array.isArray(value)) return value.map(taken)
    if (value === null || typeof value !== 'object') return value
    return Object.fromEntries(Object.entries(value).map(([key, one]) => [key, taken(one)]))
  }
  for (const [kind, id] of allDrafts()) {
    const draft = readDraft<object>(kind, id)
    const left = draft && taken(draft.form)
    if (draft && JSON.stringify(left) !== JSON.stringify(draft.form)) keepDraft(kind, id, { ...draft, form: left as object })
  }
}
