/** Numbers with their units, with only as many digits as are known. */
import { currentLocale, say } from './catalogue'
import { numberFormat } from './numbers'

export function digits(value: number, decimals: number): string {
  const zeroed = Math.abs(value) < 0.5 * 10 ** -decimals ? 0 : value
  return numberFormat(currentLocale(), decimals).format(zeroed).replace('-', '−')
}

type Maybe = number | null | undefined

const missing = (value: Maybe): value is null | undefined => value === null || value === undefined

/** '45 s', '4 min 20 s', '1 h', '1 h 5 min'; whole seconds. */
export function duration(seconds: Maybe): string {
  if (missing(seconds)) return say('none.value')
  const whole = Math.round(Math.abs(seconds))
  const sign = seconds < 0 && whole ? '−' : ''
  const [minutes, rest] = [Math.floor(whole / 60), whole % 60]
  if (minutes >= 60 && !(whole % 3600)) return sign + say('time.hours', { h: minutes / 60 })
  if (minutes >= 60 && !(whole % 60)) return sign + say('time.h', { h: Math.floor(minutes / 60), m: minutes % 60 })
  if (!minutes) return sign + say('time.s', { s: rest })
  if (!rest) return sign + say('time.min', { m: minutes })
  return sign + say('time.minS', { m: minutes, s: rest })
}

/** A cost in minutes, rounded to 5 s below a minute and 10 s above, the precision of tracks. */
export function cost(minutes: number): string {
  const seconds = minutes * 60
  const step = seconds < 60 ? 5 : 10
  return duration(Math.max(step, Math.round(seconds / step) * step))
}

/** '0.8 m' below 10 m, whole metres from there. */
export function metres(value: Maybe): string {
  if (missing(value)) return say('none.value')
  return say('unit.m', { n: digits(value, Math.abs(value) < 9.95 ? 1 : 0) })
}

/** A length with its uncertainty in metres: a smaller length is shown as 'within 1.4 m'. */
export function notBelow(value: number, known_m: Maybe): string {
  return missing(known_m) || value > known_m ? metres(value) : say('unit.within', { length: metres(known_m) })
}

export function wholeMetres(value: number): string {
  return say('unit.m', { n: digits(value, 0) })
}

export function squareMetres(value: Maybe): string {
  if (missing(value)) return say('none.value')
  // Two digits, the precision of an area walked with GPS.
  const step = 10 ** Math.max(0, Math.floor(Math.log10(Math.max(value, 1))) - 1)
  return say('unit.m2', { n: digits(Math.round(value / step) * step, 0) })
}

export function speed(value: Maybe): string {
  return missing(value) ? say('none.value') : say('unit.speed', { n: digits(value, 1) })
}

export function ratio(value: Maybe): string {
  return missing(value) ? '' : say('unit.times', { n: digits(value, 1) })
}

/** A bare number: whole, or to two decimals. */
export function plain(value: number): string {
  return digits(value, Number.isInteger(value) ? 0 : 2)
}

export function percent(share: number): string {
  return say('unit.percent', { n: digits(share * 100, 0) })
}

export function probability(value: Maybe): string {
  return missing(value) ? say('none.value') : digits(value, 2)
}

export function degrees(value: number): string {
  return say('unit.deg', { n: digits(value, 0) })
}

/** Day and time of a moment in the reader's or a given zone, with the zone's name. */
export function clock(utc: string | null, timeZone?: string): { day: string; time: string } | null {
  const at = utc ? new Date(utc) : null
  if (!at || Number.isNaN(at.getTime())) return null
  const language = currentLocale()
  const zone = timeZone === undefined ? {} : { timeZone }
  const day = new Intl.DateTimeFormat(language, { day: 'numeric', month: 'long', year: 'numeric', ...zone })
  const time = new Intl.DateTimeFormat(language, { hour: '2-digit', minute: '2-digit', timeZoneName: 'short', ...zone })
  return { day: day.format(at), time: time.format(at) }
}
