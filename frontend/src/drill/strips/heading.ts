/** The heading of all lanes: the quickest, or one that everybody can keep. */
import { clockwise } from '../hidden/burials'

export const WAYS = ['free', 'fall', 'contour', 'own'] as const
export type Way = (typeof WAYS)[number]

/** Headings closer than this are equal, degrees. */
const SAME_DEG = 0.6

/** Lanes are walked both ways: headings from 0 up to 180. */
export const bothWays = (deg: number): number => Math.round((clockwise(deg) % 180) * 10) / 10

/** The heading for a choice, given the aspect of the slope; null: free. */
export function headingOf(way: Way, aspect_deg: number, own_deg: number): number | null {
  if (way === 'free') return null
  return bothWays(way === 'fall' ? aspect_deg : way === 'contour' ? aspect_deg + 90 : own_deg)
}

/** The choice for a heading, given the slope; without a slope there is no fall line. */
export function wayOf(heading_deg: number | null, { slope_deg, aspect_deg }: { slope_deg: number; aspect_deg: number }): Way {
  if (heading_deg === null) return 'free'
  const off = bothWays(heading_deg - aspect_deg)
  if (slope_deg > 0 && Math.min(off, 180 - off) < SAME_DEG) return 'fall'
  if (slope_deg > 0 && Math.abs(off - 90) < SAME_DEG) return 'contour'
  return 'own'
}
