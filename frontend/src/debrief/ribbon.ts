/** A person's phases as bars on a line of time. */
import type { Phase, Searcher } from './document'

export const PHASES = ['signal', 'coarse', 'fine', 'probe', 'dig'] as const

export interface Bar {
  phase: Phase
  /** The row of the bar, from the top. */
  row: number
}

/** Arrange the phases of a person without overlap, in as few rows as possible. */
export function barsOf(searcher: Searcher): { bars: Bar[]; rows: number } {
  const ends: number[] = []
  const sorted = [...searcher.phases]
    .filter((phase) => phase.end_s > phase.start_s)
    .sort((a, b) => a.start_s - b.start_s || a.end_s - b.end_s)
  const bars = sorted.map((phase) => {
    let row = ends.findIndex((end) => end <= phase.start_s + 1e-6)
    if (row < 0) row = ends.length
    ends[row] = phase.end_s
    return { phase, row }
  })
  return { bars, rows: Math.max(1, ends.length) }
}

/** Which of the five values of the phase ramp a phase takes; the last one for an unknown phase. */
export function rampOf(phase: string): number {
  const index = PHASES.findIndex((name) => name === phase)
  return index < 0 ? PHASES.length - 1 : index
}

/** Share of the line of time, 0 to 1. */
export function shareOf(t_s: number, span: { start_s: number; end_s: number }): number {
  return Math.min(1, Math.max(0, (t_s - span.start_s) / (span.end_s - span.start_s)))
}

/** The step of time marks that leaves room for their labels, s. */
export function timeStep(length_s: number, most: number): number {
  const steps = [10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600]
  return steps.find((step) => length_s / step <= most) ?? 7200
}
