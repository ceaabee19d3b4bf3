/** What a drill lacks, according to its document and the last answers of the service. */
import type { SchemaRehearsalAnswer, SchemaStripWidthAnswer } from '../../api/schema'
import { distance_m, inside, toSegment_m } from '../../plan/polyline'
import { type Key, say } from '../../words'
import { degrees, metres, percent, wholeMetres } from '../../words/format'
import { type DrillDocument, isNowhere } from '../document'
import { walked } from '../strips/walked'
import type { PartName } from '../state.svelte'

export interface Lack {
  text: string
  /** The part where it can be fixed. */
  part: PartName
}

/** Sets closer together than this are very hard to separate (second-hand: course notes). */
const VERY_CLOSE_M = 2
/** From this slope the ground above should be screened. Setting. */
const STEEP_DEG = 25

interface Known {
  width: SchemaStripWidthAnswer | null
  /** The rehearsal of the current drill. */
  rehearsed: SchemaRehearsalAnswer | null
}

export function lacksOf(document: DrillDocument, known: Known): Lack[] {
  const found: Lack[] = []
  const lack = (part: PartName, name: string, values: Record<string, string | number> = {}): void =>
    void found.push({ part, text: say(`checks.miss.${name}` as Key, values) })
  ground(document, lack)
  hidden(document, lack)
  group(document, lack)
  heard(document, known, lack)
  return found
}

type Say = (part: PartName, name: string, values?: Record<string, string | number>) => void

function ground({ site }: DrillDocument, lack: Say): void {
  // The entry may be on the edge: a few metres outside are accepted.
  if (!inside(site.entry_m, [site.boundary_m]) && edge_m(site.entry_m, site.boundary_m) > 5) lack('ground', 'entry')
  if (site.slope_deg >= STEEP_DEG) lack('ground', 'steep', { slope: degrees(site.slope_deg) })
  if (site.anchors.length < 2) lack('ground', 'anchors')
  if (isNowhere(site.origin)) lack('ground', 'nowhere')
}

function edge_m(place: [number, number], ring: readonly [number, number][]): number {
  return Math.min(...ring.map((corner, k) => toSegment_m(place, corner, ring[(k + 1) % ring.length] ?? corner)))
}

function hidden({ site, burials, searchers }: DrillDocument, lack: Say): void {
  if (!burials.length) lack('burials', 'no-burial')
  const longest = Math.max(0, ...searchers.map((one) => one.probe_length_m ?? 0))
  burials.forEach((burial, i) => {
    const id = burial.id
    if (!inside(burial.position_m, [site.boundary_m, ...site.holes_m])) lack('burials', 'outside', { id })
    if (!burial.transmitter) lack('burials', 'no-set', { id })
    if (burial.outline === 'person') lack('burials', 'person', { id })
    if (longest && burial.depth_m > longest) lack('burials', 'deep', { id, depth: metres(burial.depth_m), probe: metres(longest) })
    for (const other of burials.slice(i + 1)) {
      const distance = distance_m(burial.position_m, other.position_m)
      if (distance < VERY_CLOSE_M) lack('burials', 'close', { a: id, b: other.id, distance: metres(distance) })
    }
  })
}

function group({ searchers }: DrillDocument, lack: Say): void {
  const without = searchers.filter((one) => !one.shovel)
  if (!searchers.some((one) => one.probe_length_m)) lack('group', 'no-probe')
  if (without.length === searchers.length) lack('group', 'no-shovel')
  else if (without.length) lack('group', 'few-shovels', { n: without.length, total: searchers.length, names: without.map((one) => one.name).join(', ') })
  if (searchers.length === 1) lack('group', 'alone')
}

function heard({ conditions, burials }: DrillDocument, { width, rehearsed }: Known, lack: Say): void {
  for (const row of width?.reasons.burials ?? []) {
    if (!row.edge_width_m && burials.some((one) => one.id === row.id)) lack('hearing', 'unheard', { id: row.id })
  }
  const [own, edge] = [conditions.strip_width_m, width?.edge_width_m ?? 0]
  if (own === null && burials.some((one) => one.transmitter)) lack('strips', 'no-width')
  else if (own !== null && edge > 0 && own > edge + 0.5) lack('strips', 'width', { width: metres(own), edge: wholeMetres(walked(edge)) })
  if (!rehearsed && burials.length) lack('rehearsal', 'not-rehearsed')
  for (const burial of rehearsed?.burials ?? []) {
    if (burial.found_fraction < 0.95) lack('rehearsal', 'unfound', { id: burial.id, share: percent(burial.found_fraction) })
  }
}
