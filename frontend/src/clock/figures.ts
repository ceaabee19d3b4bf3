/** Times as shown on the clock and as typed. */
import { codeOf } from './ids'
import type { Run } from './items'
import { currentLocale, say } from '../words'

/** '12:34' since the alarm; minutes continue beyond an hour, so that the digits keep their size. */
export function elapsed(seconds: number): string {
  const whole = Math.max(0, Math.floor(seconds))
  return `${Math.floor(whole / 60)}:${String(whole % 60).padStart(2, '0')}`
}

/** Seconds from '4:20' or '260'; null for anything else. */
export function typedSeconds(typed: string): number | null {
  const found = /^\s*(\d{1,3}):([0-5]?\d)\s*$/.exec(typed)
  if (found) return Number(found[1]) * 60 + Number(found[2])
  return /^\s*\d{1,5}\s*$/.test(typed) ? Number(typed) : null
}

/** A number typed with a point or a comma, within bounds; otherwise null. */
export function typedNumber(typed: string, from: number, to: number): number | null {
  const text = typed.trim().replace(',', '.')
  const value = Number(text)
  return text && Number.isFinite(value) && value >= from && value <= to ? value : null
}

export function timeOfDay(ms: number): string {
  return new Intl.DateTimeFormat(currentLocale(), { hour: '2-digit', minute: '2-digit' }).format(ms)
}

export function runName(run: Run | null, id: string): string {
  const code = codeOf(id)
  return run?.name || (code ? say('clock.runCode', { code }) : say('clock.run'))
}

/** The names by index: 'A', 'B', ... 'Z', 'A2'. */
export function letter(index: number): string {
  const again = Math.floor(index / 26)
  return String.fromCharCode(65 + (index % 26)) + (again ? String(again + 1) : '')
}

const AXES = 8
/** The direction of an antenna as one of eight axes. */
export const axisOf = (azimuth_deg: number): number => (((Math.round(azimuth_deg / 22.5) % AXES) + AXES) % AXES)
