/** Clock shifts as people type them: '+1:00:00', '-0:30', '90', '−3600 s', '-1 h', '1 h 30 min'. */
import { minutesSeconds } from './times'

const IN_UNITS = /^([+-]?)\s*(?:(\d+(?:[.,]\d+)?)\s*(?:d|days?|Tage?|j|jours?|giorn[oi]))?\s*(?:(\d+(?:[.,]\d+)?)\s*(?:h|hours?|Stunden?|heures?|or[ae]))?\s*(?:(\d+(?:[.,]\d+)?)\s*(?:min|minutes?|Minuten?|minut[oi]))?\s*(?:(\d+(?:[.,]\d+)?)\s*(?:s|seconds?|Sekunden?|secondes?|second[oi]))?$/i

const figure = (text: string | undefined): number => Number((text ?? '0').replace(',', '.'))

/** Seconds; null if nothing is typed; undefined if it is not a shift. */
export function readShift(text: string): number | null | undefined {
  const trimmed = text.trim().replace('−', '-')
  if (!trimmed) return null
  const units = IN_UNITS.exec(trimmed)
  if (units && units.slice(2).some(Boolean)) {
    const [, sign, days, hours, minutes, seconds] = units
    return signed(sign, figure(days) * 86_400 + figure(hours) * 3600 + figure(minutes) * 60 + figure(seconds))
  }
  const found = /^([+-]?)(?:(?:(\d+):)?(\d+):)?(\d+(?:[.,]\d+)?)$/.exec(trimmed)
  if (!found) return undefined
  const [, sign, hours = '0', minutes = '0', seconds = '0'] = found
  return signed(sign, Number(hours) * 3600 + Number(minutes) * 60 + figure(seconds))
}

const signed = (sign: string | undefined, size: number): number | null => (size === 0 ? null : (sign === '-' ? -1 : 1) * size)

/** '+60:00', '−0:30'; empty for null. */
export function shownShift(seconds: number | null): string {
  if (seconds === null || seconds === 0) return ''
  const whole = Math.round(Math.abs(seconds))
  const [hours, rest] = whole < 6000 ? ['', whole] : [`${Math.floor(whole / 3600)}:`, whole % 3600]
  const minutes = minutesSeconds(rest)
  return (seconds > 0 ? '+' : '−') + hours + (hours && rest < 600 ? '0' : '') + minutes
}
