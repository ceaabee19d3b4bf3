/** A constant on a line: the earlier estimate, the runs, and the current estimate, on a scale of factors. */

export interface Scale {
  low: number
  high: number
  /** The position of a value on the line, 0 to 1. */
  at: (value: number) => number
}

/** A scale that contains all of these values with a small margin; logarithmic for values above 0. */
export function scaleFor(values: readonly number[]): Scale {
  const logs = values.filter((value) => value > 0).map(Math.log)
  const [low, high] = logs.length ? [Math.min(...logs), Math.max(...logs)] : [0, 1]
  const edge = Math.max(0.08 * (high - low), 0.05)
  const [from, to] = [low - edge, high + edge]
  const at = (value: number): number => Math.min(1, Math.max(0, (Math.log(Math.max(value, 1e-12)) - from) / (to - from)))
  return { low: Math.exp(from), high: Math.exp(to), at }
}

/** Round to two digits, which is as precise as any of these constants is known. */
export function twoDigits(value: number): number {
  return Number(value.toPrecision(2))
}
