/** The content of a map: the lowest reading of the chosen sets at each place, and the margin over the threshold. */
import type { Point } from '../../plan/point'
import type { HearingMap, Lattice, SetHeard } from './packed'

/** The boundaries between bands of readings, m. */
export const LEVELS_M = [10, 20, 30, 40] as const

/** Below this reading the fine search begins, and a map with steps of half a metre shows no more. */
export const NEAREST_M = 3

export interface Shown {
  lattice: Lattice
  sets: readonly SetHeard[]
  /** The lowest reading of a heard set, hundredths of a metre; if none is heard, that of the one closest to being heard. */
  lowest: Float32Array
  /** The greatest margin over the threshold, hundredths of a dB. */
  margin: Float32Array
  /** The number of searchers who hear the set that most of them hear. */
  heardBy: Uint8Array
  /** The size of the group. */
  searchers: number
}

/** The two views of a map: whether a set is heard, and what is read. */
export const WAYS = ['heard', 'reads'] as const
export type Way = (typeof WAYS)[number]

/** Who hears something at a place. */
export const HEARERS = ['all', 'some', 'none'] as const

/** The bands of readings that occur on the ground, the nearest first. */
export function bandsOn(shown: Shown, ground: Uint8Array): number[] {
  const found = new Set<number>()
  for (let k = 0; k < ground.length; k++) if (ground[k] && (shown.margin[k] ?? -1) >= 0) found.add(bandOf(shown.lowest[k] ?? 0))
  return [...found].sort((a, b) => a - b)
}

/** The shares of the ground where all, some or none of the group hear at least one of the shown sets. */
export function hearersOn({ heardBy, searchers }: Shown, ground: Uint8Array): Record<(typeof HEARERS)[number], number> {
  const count = { all: 0, some: 0, none: 0 }
  let places = 0
  for (let k = 0; k < ground.length; k++) {
    if (!ground[k]) continue
    places++
    const by = heardBy[k] ?? 0
    count[by >= searchers ? 'all' : by ? 'some' : 'none']++
  }
  return { all: count.all / (places || 1), some: count.some / (places || 1), none: count.none / (places || 1) }
}

export function shownOf(map: HearingMap, burial: string | null): Shown {
  const sets = map.sets.filter((set) => burial === null || set.id === burial)
  const n = map.lattice.columns * map.lattice.rows
  const lowest = new Float32Array(n).fill(65535)
  const margin = new Float32Array(n).fill(-32768)
  const heardBy = new Uint8Array(n)
  for (const set of sets)
    for (let k = 0; k < n; k++) {
      const over = set.margin[k] ?? 0
      const reading = set.reading[k] ?? 0
      const best = margin[k] ?? 0
      if (over >= 0 ? best < 0 || reading < (lowest[k] ?? 0) : over > best) lowest[k] = reading
      if (over > best) margin[k] = over
      heardBy[k] = Math.max(heardBy[k] ?? 0, set.heardBy[k] ?? 0)
    }
  return { lattice: map.lattice, sets, lowest, margin, heardBy, searchers: map.searchers }
}

/** The band of a reading in hundredths of a metre. */
export function bandOf(reading: number): number {
  let band = 0
  while (band < LEVELS_M.length && reading >= (LEVELS_M[band] ?? 0) * 100) band++
  return band
}

/** Which places are on the ground: inside the boundary, outside its holes. */
export function onGround(lattice: Lattice, boundary: readonly Point[], holes: readonly (readonly Point[])[]): Uint8Array {
  const inside = new Uint8Array(lattice.columns * lattice.rows)
  for (let j = 0; j < lattice.rows; j++) {
    const north = lattice.south_m + j * lattice.step_m
    for (const ring of [boundary, ...holes]) flip(inside, lattice, j, crossings(ring, north))
  }
  return inside
}

/** Where a ring crosses a line of equal northing, sorted by east. */
function crossings(ring: readonly Point[], north: number): number[] {
  const found: number[] = []
  ring.forEach(([east, n], k) => {
    const [east2, n2] = ring[(k + 1) % ring.length] ?? [east, n]
    if (n > north !== n2 > north) found.push(east + ((north - n) / (n2 - n)) * (east2 - east))
  })
  return found.sort((a, b) => a - b)
}

function flip(inside: Uint8Array, lattice: Lattice, row: number, crossed: readonly number[]): void {
  for (let c = 0; c + 1 < crossed.length; c += 2) {
    const from = Math.max(0, Math.ceil(((crossed[c] ?? 0) - lattice.west_m) / lattice.step_m))
    const to = Math.min(lattice.columns - 1, Math.floor(((crossed[c + 1] ?? 0) - lattice.west_m) / lattice.step_m))
    for (let k = row * lattice.columns + from; k <= row * lattice.columns + to; k++) inside[k] = inside[k] ? 0 : 1
  }
}

/** The shares of the ground where a set is heard by the map's receiver, by the whole group, and by nobody. */
export interface Shares {
  heard: number
  byAll: number
  byNone: number
}

export function sharesOf(set: SetHeard, searchers: number, ground: Uint8Array): Shares {
  let [all, heard, byAll, byNone] = [0, 0, 0, 0]
  for (let k = 0; k < ground.length; k++) {
    if (!ground[k]) continue
    all++
    if ((set.margin[k] ?? -1) >= 0) heard++
    const by = set.heardBy[k] ?? 0
    if (by >= searchers) byAll++
    if (by === 0) byNone++
  }
  const share = (count: number): number => (all ? count / all : 0)
  return { heard: share(heard), byAll: share(byAll), byNone: share(byNone) }
}

/** The share of the ground where none of the shown sets is heard by the map's receiver. */
export function silentShare(shown: Shown, ground: Uint8Array): number {
  let [all, silent] = [0, 0]
  for (let k = 0; k < ground.length; k++) {
    if (!ground[k]) continue
    all++
    if ((shown.margin[k] ?? -1) < 0) silent++
  }
  return all ? silent / all : 0
}
