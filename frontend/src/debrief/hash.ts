/** The state that matters, kept in the address: moment, person, layers, finding, wall. */
import { LAYERS, type Layer } from './layers'

export interface Shown {
  t_s: number
  who: string | null
  layers: Layer[]
  finding: number | null
  wall: boolean
  theme: 'light' | 'dark' | null
}

export function writeHash(shown: Shown): string {
  const parts = new URLSearchParams()
  parts.set('t', String(Math.round(shown.t_s)))
  if (shown.who !== null) parts.set('who', shown.who)
  parts.set('layers', shown.layers.join('.') || 'none')
  if (shown.finding !== null) parts.set('finding', String(shown.finding + 1))
  if (shown.wall) parts.set('wall', '1')
  if (shown.theme) parts.set('theme', shown.theme)
  return '#' + parts.toString()
}

/** Read an address; missing or invalid parts are left out. */
export function readHash(hash: string): Partial<Shown> {
  const parts = new URLSearchParams(hash.replace(/^#/, ''))
  const shown: Partial<Shown> = {}
  const t = parts.get('t')
  if (t !== null && t.trim() && Number.isFinite(Number(t))) shown.t_s = Number(t)
  const who = parts.get('who')
  if (who !== null) shown.who = who
  const layers = parts.get('layers')?.split('.')
  if (layers) shown.layers = LAYERS.filter((layer) => layers.includes(layer))
  const finding = Number(parts.get('finding'))
  if (Number.isInteger(finding) && finding > 0) shown.finding = finding - 1
  if (parts.get('wall') === '1') shown.wall = true
  const theme = parts.get('theme')
  if (theme === 'light' || theme === 'dark') shown.theme = theme
  return shown
}
