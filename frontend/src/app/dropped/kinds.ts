/**
 * Every kind of file that can be dropped on the app: how to recognise it, and where it goes. A new kind is one entry here, with its words `drop.goes.NAME` and `drop.to.NAME`; a drop zone that accepts it lists it in its `takes`.
 */
import { bringDays, bringDrills } from './bringing'
import { columns, lookInto, type Seen, starts } from './recognise'

export interface FileKind {
  name: string
  is: (seen: Seen) => boolean
  /** The page and part that accepts it, given the page where it was dropped; null if a person has to choose. */
  at?: (path: string) => string | null
  /** The page where a person can find the right drop zone. */
  to: string
  /** Imports the files directly if no drop zone on the page accepts them. */
  bring?: (files: File[]) => Promise<void>
}

const object = (json: unknown): Record<string, unknown> => (typeof json === 'object' && json !== null ? (json as Record<string, unknown>) : {})

/** The format that a Coldfield file states, even if the file is no longer valid JSON. */
function formatOf({ json, text }: Seen): string {
  const told = object(json)['format']
  return typeof told === 'string' ? told : json === undefined ? (/^\{\s*"format"\s*:\s*"([^"]*)"/.exec(text)?.[1] ?? '') : ''
}

const isGpx = ({ text }: Seen): boolean => /<(\w+:)?gpx[\s>]/.test(text.slice(0, 4000))
/** Whether most of its points have a time, as in a recorded track. */
function timed({ text }: Seen): boolean {
  const count = (shape: RegExp): number => text.match(shape)?.length ?? 0
  return 2 * count(/<(\w+:)?time>/g) > count(/<(\w+:)?trkpt[\s>]/g)
}
const has = (seen: Seen, ...names: string[]): boolean => names.some((name) => columns(seen.text).includes(name))

const GEOMETRY = new Set(['FeatureCollection', 'Feature', 'Polygon', 'MultiPolygon', 'LineString', 'MultiLineString', 'GeometryCollection'])

function isTrack(seen: Seen): boolean {
  if (isGpx(seen)) return /<(\w+:)?trk[\s>]/.test(seen.text)
  const fit = starts(seen.head.subarray(8), [0x2e, 0x46, 0x49, 0x54])
  const zip = seen.members.some((name) => /\.(gpx|fit|csv)$/i.test(name)) && !seen.members.includes('manifest.json')
  const table = has(seen, 'lat', 'latitude', 'latitude_deg', 'east_m') && has(seen, 'lon', 'lng', 'longitude', 'longitude_deg', 'north_m')
  return fit || zip || table
}

const drillAt = (path: string): string | null => (/^\/drills\/[^/]+$/.test(path) ? `${path}?part=ground` : null)
const runAt = (step: string) => (path: string): string | null => (/^\/runs\/[^/]+$/.test(path) ? `${path}?step=${step}` : null)

export const KINDS = [
  { name: 'day', is: ({ text }) => /"format"\s?:\s?"coldfield-day\//.test(text.slice(0, 2000)), to: '/runs', bring: bringDays },
  {
    name: 'drill',
    is: (seen) => formatOf(seen).startsWith('coldfield-drill') || ('site' in object(seen.json) && 'burials' in object(seen.json)),
    to: '/drills?new=',
    bring: bringDrills,
  },
  { name: 'records', is: ({ members }) => members.includes('manifest.json'), at: () => '/drills?share=', to: '/drills?share=' },
  { name: 'splits', is: (seen) => has(seen, 'split'), at: runAt('splits'), to: '/runs' },
  { name: 'track', is: isTrack, at: runAt('tracks'), to: '/runs' },
  {
    name: 'ground',
    is: (seen) => isGpx(seen) || GEOMETRY.has(String(object(seen.json)['type'])),
    at: (path) => drillAt(path) ?? (path.startsWith('/drills') || path === '/' ? '/drills?new=' : null),
    to: '/drills?new=',
  },
  {
    name: 'elevation',
    is: ({ head, text, name }) =>
      starts(head, [0x49, 0x49, 0x2a, 0]) || starts(head, [0x4d, 0x4d, 0, 0x2a]) || /^ncols\s/i.test(text) || (/\.prj$/i.test(name) && /^(PROJ|GEOG|BOUND|COMP)/.test(text)),
    at: drillAt,
    to: '/drills',
  },
  {
    name: 'picture',
    is: ({ head }) => [[0x89, 0x50, 0x4e, 0x47], [0xff, 0xd8, 0xff], [0x49, 0x49, 0x2a, 0], [0x4d, 0x4d, 0, 0x2a]].some((first) => starts(head, first)),
    at: drillAt,
    to: '/drills',
  },
] as const satisfies readonly FileKind[]

export type KindName = (typeof KINDS)[number]['name']
export type Known = FileKind & { name: KindName }

/** What a file may be, the most likely first: a GPX without times is more likely ground than a track. */
export async function kindsOf(file: File): Promise<Known[]> {
  const seen = await lookInto(file)
  const found = (KINDS as readonly Known[]).filter((kind) => kind.is(seen))
  return isGpx(seen) && !timed(seen) ? found.reverse() : found
}
