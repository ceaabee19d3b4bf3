/** A constant on a line: what was believed, what runs say, what is believed now, on a scale of factors. */

export interface Scale {
  low: number
  high: number
  /** Where a value stands on the line, 0 to 1. */
  at: (value: number) => number
}

/** A scale that holds all of these values, a little wider; values above 0 by their logarithm. */
export function scaleFor(values: readonly number[]): Scale {
  const logs = values.filter((value) => value > 0).map(Math.log)
  const [low, high] = logs.length ? [Math.min(...logs), Math.max(...logs)] : [0, 1]
  const edge = Math.max(0.08 * (high - low), 0.05)
  const [from, to] = [low - edge, high + edge]
  const at = (value: number): number => Math.min(1, Math.max(0, (Math.log(Math.max(value, 1e-12)) - from) / (to - from)))
  return { low: Math.exp(from), high: Math.exp(to), at }
}

/** Two digits: more is not known of any of these constants. */
export function twoDigits(value: number): number {
  return Number(value.toPrecision(2))
}
