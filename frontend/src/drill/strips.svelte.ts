/** State shared by the Strips part and its drawing on the plan: today's width, the lanes, the least-heard place. */
import { api, ask, askRaw } from '../api/client'
import type { SchemaDrillPart, SchemaStripsAnswer, SchemaStripWidthAnswer } from '../api/schema'
import { say } from '../words'
import { metres } from '../words/format'
import { Asked } from './asked.svelte'
import type { DrillDocument, Receiver } from './document'
import type { DrillState } from './state.svelte'

export const SHARINGS = ['least time', 'own sectors', 'line abreast'] as const
export type Sharing = (typeof SHARINGS)[number]

export const MOST_PEOPLE = 40

/** The chance of detection that the edge width guarantees everywhere. */
const POD = 0.98

/** A drill in the service's type. */
export const sent = (document: DrillDocument): SchemaDrillPart => document as unknown as SchemaDrillPart

export class Strips {
  readonly width = new Asked<SchemaStripWidthAnswer>()
  readonly lanes = new Asked<SchemaStripsAnswer>()
  readonly chance = new Asked<SchemaStripsAnswer>()
  /** The number of searchers; null: all of the drill. */
  people = $state<number | null>(null)
  sharing = $state<Sharing>('least time')
  /** A width typed in for comparison, m. */
  tried_m = $state<number | null>(null)

  /** Request the answers for a document; unchanged ones are not requested again. */
  follow(document: DrillDocument, parts: { width?: boolean; chance?: boolean } = {}): void {
    if (!canHear(document)) {
      for (const one of [this.width, this.lanes, this.chance]) one.clear()
      return
    }
    const drill = sent(document)
    const widths_m = this.tried_m === null ? [] : [this.tried_m]
    if (parts.width) {
      const key = widthKey(document) + JSON.stringify(widths_m)
      this.width.ask(key, (signal) => ask(api.POST('/api/strip-width', { body: { drill, widths_m, pod: POD }, signal })))
    }
    const asked = { drill, searchers: this.people, sharing: this.sharing, chance: false }
    const key = laneKey(document) + JSON.stringify([this.people, this.sharing])
    this.lanes.ask(key, (signal) => ask(api.POST('/api/strips', { body: asked, signal })))
    if (parts.chance) {
      const body = { ...asked, chance: true }
      this.chance.ask(key + widthKey(document), (signal) => ask(api.POST('/api/strips', { body, signal })), 600)
    }
  }

  /** The lanes as a file. */
  async file(document: DrillDocument, kind: 'gpx' | 'geojson'): Promise<Blob> {
    const body = JSON.stringify({ drill: document, searchers: this.people, sharing: this.sharing })
    const options = { method: 'POST', body, headers: { 'content-type': 'application/json' } }
    return (await askRaw(`/api/strips/${kind}`, options)).blob()
  }
}

const kept = new WeakMap<DrillState, Strips>()

/** The strips of a drill page, shared by the part and the plan. */
export function stripsOf(drill: DrillState): Strips {
  const found = kept.get(drill) ?? new Strips()
  kept.set(drill, found)
  return found
}

export function canHear(document: DrillDocument): boolean {
  return document.burials.some((burial) => burial.transmitter) && document.searchers.length > 0
}

/** What the width depends on. */
function widthKey({ searchers, burials, conditions }: DrillDocument): string {
  return JSON.stringify([
    searchers.map(({ id, receiver }) => [id, receiver]),
    burials.map(({ id, transmitter }) => [id, transmitter]),
    conditions.noise_rise_db,
    conditions.strip_width_m,
  ])
}

/** What the lanes depend on. */
function laneKey(document: DrillDocument): string {
  const { site, searchers, conditions } = document
  const width = conditions.strip_width_m ?? widthKey(document)
  return JSON.stringify([site, searchers.map(({ id, skill }) => [id, skill]), conditions.travel, conditions.lane_heading_deg, width])
}

/** The rise of noise that explains a range measured today, dB; computed by the service. */
export async function noiseFrom(receiver: Receiver, today_m: number): Promise<number> {
  const { coaxial_range_m, threshold_na_per_m, reference_field_at_10m_ua_per_m, antennas, antenna_factors } = receiver
  const own = { threshold_na_per_m, reference_field_at_10m_ua_per_m, antennas, antenna_factors }
  const body = { ...own, coaxial_range_m, field_at_10m_ua_per_m: reference_field_at_10m_ua_per_m, range_today_m: today_m }
  const told = await ask(api.POST('/api/strip-width', { body: body as never }))
  return told.noise_rise_db
}

/** The chances at one width, from the service or interpolated between its values. */
export function chanceAt(told: SchemaStripWidthAnswer, width_m: number): { worst: number | null; mean: number | null } {
  const row = told.widths.find((one) => Math.abs(one.width_m - width_m) < 0.005)
  if (row) return { worst: row.worst_point_probability, mean: row.mean_probability }
  const line = (of: (one: SchemaStripWidthAnswer['chances_by_width'][number]) => number): [number, number][] =>
    told.chances_by_width.map((one) => [one.width_m, of(one)])
  return { worst: between(line((one) => one.worst_point_probability), width_m), mean: between(line((one) => one.mean_probability), width_m) }
}

/** Write a strip width into the drill; null: the edge width of the day. */
export function useWidth(drill: DrillState, width_m: number | null): void {
  const label = width_m === null ? say('strips.setEdge') : say('strips.set', { width: metres(width_m) })
  drill.change(label, (draft) => (draft.conditions.strip_width_m = width_m), 'strip width')
}

/** A value interpolated on a line from the service. */
export function between(points: readonly (readonly [number, number])[], x: number): number | null {
  for (let i = 1; i < points.length; i++) {
    const [a, b] = [points[i - 1], points[i]]
    if (a && b && a[0] <= x && x <= b[0]) return a[1] + ((b[1] - a[1]) * (x - a[0])) / Math.max(b[0] - a[0], 1e-9)
  }
  return null
}
