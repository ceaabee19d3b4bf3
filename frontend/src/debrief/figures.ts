/** The exact figures behind a finding, with names and units from the debrief's keys. */
import { sayOr } from '../words'
import { duration, metres, plain, speed, squareMetres } from '../words/format'

const UNITS: [suffix: RegExp, write: (value: number) => string][] = [
  [/_m_s$/, speed],
  [/_m2$/, squareMetres],
  [/_m$/, metres],
  [/(^|_)(s|seconds)$/, duration],
]

/** 'walked_m': 38.1 becomes 'walked' and '38 m'; values that are not numbers are left out. */
export function figuresOf(numbers: Record<string, unknown>): { name: string; value: string }[] {
  return Object.entries(numbers).flatMap(([key, value]) => {
    if (typeof value !== 'number' || !Number.isFinite(value)) return []
    const [suffix, write] = UNITS.find(([unit]) => unit.test(key)) ?? [/$^/, plain]
    const stem = key.replace(suffix, '')
    return [{ name: sayOr(`figure.${stem}`, stem.replaceAll('_', ' ')), value: write(value) }]
  })
}
