/** A person's runs as strips of time: the duration of each phase, from debriefs or else from splits. */
import type { SchemaHistoryEntry } from '../api/schema'

export type PhaseName = 'signal' | 'coarse' | 'fine' | 'probe' | 'dig'
export type PieceName = PhaseName | 'approach'

export interface Piece {
  name: PieceName
  start_s: number
  end_s: number
}

export interface Strip {
  run: string
  held_utc: string
  burial: string
  simulated: boolean
  /** The source of the phases: a debrief, or splits only. */
  from: 'debrief' | 'splits'
  pieces: Piece[]
  total_s: number
  /** Whether the phases come from another model, so that a comparison needs a note. */
  older: boolean
}

const ORDER: readonly PhaseName[] = ['signal', 'coarse', 'fine', 'probe', 'dig']
/** Splits end one piece and begin the next; between first signal and lowest reading, the 3 m mark is unknown. */
const ENDS: readonly (readonly [split: string, piece: PieceName])[] = [
  ['first_signal', 'signal'],
  ['lowest_reading', 'approach'],
  ['probe_strike', 'probe'],
  ['airway_clear', 'dig'],
]

export function stripsOf(entries: readonly SchemaHistoryEntry[]): Strip[] {
  return entries.flatMap((entry) => {
    const burials = [...new Set([...Object.keys(entry.phases), ...Object.keys(entry.seconds)])].filter((burial) => burial !== '').sort()
    return burials.flatMap((burial) => {
      const told = fromDebrief(entry.phases[burial] ?? {})
      const pieces = told.length ? told : fromSplits(entry.seconds[burial] ?? {})
      const last = pieces.at(-1)
      if (!last) return []
      const from = told.length ? ('debrief' as const) : ('splits' as const)
      return [{ run: entry.run_id, held_utc: entry.held_utc, burial, simulated: entry.simulated, from, pieces, total_s: last.end_s, older: told.length > 0 && entry.older_model }]
    })
  })
}

function fromDebrief(seconds: Record<string, number>): Piece[] {
  let at = 0
  return ORDER.flatMap((name) => {
    const took = seconds[name]
    if (took === undefined || took <= 0) return []
    const piece = { name, start_s: at, end_s: at + took }
    at += took
    return [piece]
  })
}

function fromSplits(seconds: Record<string, number | null>): Piece[] {
  const pieces: Piece[] = []
  let from: number | null = 0
  for (const [split, name] of ENDS) {
    const end: number | null | undefined = seconds[split]
    if (end === null || end === undefined) {
      // Without this split the following pieces cannot be separated, so they are left out.
      from = null
      continue
    }
    if (from !== null && end > from) pieces.push({ name, start_s: from, end_s: end })
    from = end
  }
  const first = pieces[0]?.start_s ?? 0
  return pieces.map((piece) => ({ ...piece, start_s: piece.start_s - first, end_s: piece.end_s - first }))
}

/** Whole minutes for the axis, few enough to read: 0, 2, 4 ... */
export function ticks(longest_s: number, most = 7): number[] {
  const minutes = Math.max(longest_s / 60, 1)
  const step = [1, 2, 5, 10, 20, 60].find((candidate) => minutes / candidate <= most) ?? 120
  return Array.from({ length: Math.ceil(minutes / step) + 1 }, (_, i) => i * step)
}
