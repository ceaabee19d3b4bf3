/** The group's time, from the zero of the run to the last moment of the work. */
import type { DebriefDocument } from './document'

export interface GroupTime {
  /** The event that ends the time. */
  until: 'clear' | 'struck'
  seconds: number
}

/** The last free airway, or the last strike if airways were not timed; null if a burial was not reached. */
export function groupTime({ burials }: DebriefDocument): GroupTime | null {
  if (!burials.length) return null
  for (const until of ['clear', 'struck'] as const) {
    const moments = burials.map((burial) => burial[`${until}_s`])
    if (moments.every((t_s) => t_s !== null)) return { until, seconds: Math.max(...moments.map((t_s) => t_s ?? 0)) }
  }
  return null
}
