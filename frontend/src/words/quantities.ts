/** Format quantities by the rules of `coldfield/words/quantities.py`; one table of examples tests both. */
import { currentLocale, say } from './catalogue'
import { cost, degrees, digits, duration, metres, percent, ratio, speed, squareMetres } from './format'
import type { Quantity } from './message'
import { numberFormat, significantFormat } from './numbers'

export function written({ kind, value, decimals }: Quantity): string {
  if (typeof value === 'string') return dayOf(value)
  if (!Number.isFinite(value)) return say('none.value')
  if (decimals !== null && decimals !== undefined) return withDecimals(kind, value, decimals)
  switch (kind) {
    case 'duration':
      return duration(value)
    case 'about':
      return about(value)
    case 'cost':
      return cost(value / 60)
    case 'length':
      return metres(value)
    case 'area':
      return squareMetres(value)
    case 'speed':
      return speed(value)
    case 'share':
      return percent(value)
    case 'angle':
      return degrees(value)
    case 'times':
      return ratio(value)
    case 'size':
      return size(value)
    default:
      return significantFormat(currentLocale()).format(value).replace('-', '−')
  }
}

function withDecimals(kind: Quantity['kind'], value: number, decimals: number): string {
  const n = digits(kind === 'share' ? value * 100 : value, decimals)
  const unit = { length: 'unit.m', area: 'unit.m2', speed: 'unit.speed', share: 'unit.percent', angle: 'unit.deg', times: 'unit.times' } as const
  return kind in unit ? say(unit[kind as keyof typeof unit], { n }) : n
}

const HALVES_FROM_S = 115

/** A predicted time in half minutes without its unit: '6½'; null below two minutes. */
export function halfMinutes(seconds: number): string | null {
  if (seconds < HALVES_FROM_S) return null
  const halves = Math.floor(seconds / 30 + 0.5)
  return halves % 2 ? `${Math.floor(halves / 2)}½` : `${halves / 2}`
}

/** A predicted time: half minutes from two minutes, tens of seconds from one minute. */
export function about(seconds: number): string {
  const halves = halfMinutes(seconds)
  if (halves !== null) return say('time.min', { m: halves })
  const step = seconds >= 60 ? 10 : 1
  return duration(toEven(seconds / step) * step)
}

/** Round halves to even, as the service does. */
function toEven(value: number): number {
  const whole = Math.round(value)
  return Math.abs(value % 1) === 0.5 && whole % 2 ? whole - 1 : whole
}

function size(bytes: number): string {
  for (const [key, unit] of [['unit.mb', 1e6], ['unit.kb', 1e3]] as const) {
    if (bytes >= unit) return say(key, { n: digits(bytes / unit, bytes >= 10 * unit ? 0 : 1) })
  }
  return say('unit.byte', { n: digits(bytes, 0) })
}

function dayOf(iso: string): string {
  const format = new Intl.DateTimeFormat(currentLocale(), { day: 'numeric', month: 'long', year: 'numeric', timeZone: 'UTC' })
  return format.format(new Date(`${iso.slice(0, 10)}T12:00:00Z`))
}

/** A count with a proper minus sign. */
export const counted = (n: number): string => numberFormat(currentLocale()).format(n).replace('-', '−')
