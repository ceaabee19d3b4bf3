/** Where the words of the plan's fixed places stand, and what else on the plan other words keep clear of. */
import { around, placeLabels, type Label, type Placed, type Rectangle } from '../../plan/labels'
import type { Point } from '../../plan/point'
import { say } from '../../words'
import type { DrillDocument } from '../document'
import type { FixedName } from '../site/edit'

export interface Fixed {
  name: FixedName
  words: string
  at: Point
}

interface View {
  toPixel: (place: Point) => Point
  bounds: Rectangle
}

const [GLYPH_PX, LINE_PX] = [7.4, 18]

export const widthOf = (words: string): number => words.length * GLYPH_PX + 6

export function fixedOf({ site }: DrillDocument, view: View): Fixed[] {
  return [
    ...site.anchors.map((anchor, name) => ({ name, words: anchor.name, at: view.toPixel(anchor.position_m) })),
    { name: 'entry', words: say('plan.entry'), at: view.toPixel(site.entry_m) },
    ...(site.last_seen_m ? [{ name: 'seen' as const, words: say('plan.lastSeen'), at: view.toPixel(site.last_seen_m) }] : []),
  ]
}

/** The marks of all places, and the short names of the burials beside theirs. */
function marksOf(document: DrillDocument, view: View): Rectangle[] {
  const burials = document.burials.flatMap(({ id, position_m }): Rectangle[] => {
    const [x, y] = view.toPixel(position_m)
    return [around([x, y], 9), { x: x + 9, y: y - 22, width: 9 * id.length + 4, height: LINE_PX }]
  })
  return [...burials, ...fixedOf(document, view).map(({ at }) => around(at, 8))]
}

/** Small squares along the edges of the ground, with room for the corners that are taken hold of. */
function edgesOf({ site }: DrillDocument, view: View): Rectangle[] {
  const STEP_PX = 8
  return [site.boundary_m, ...site.holes_m].flatMap((ring) => {
    const corners = ring.map((place) => view.toPixel(place))
    return corners.flatMap((from, k) => {
      const to = corners[(k + 1) % corners.length] ?? from
      const pieces = Math.min(500, Math.max(1, Math.ceil(Math.hypot(to[0] - from[0], to[1] - from[1]) / STEP_PX)))
      const along = Array.from({ length: pieces - 1 }, (_, i): Point => {
        const share = (i + 1) / pieces
        return [from[0] + share * (to[0] - from[0]), from[1] + share * (to[1] - from[1])]
      })
      return [around(from, 7), ...along.map((place) => around(place, 2))]
    })
  })
}

/** Words of the fixed places: below an entry, above the others, else beside them; off the edges of the ground if they can be. */
export function namesOf(document: DrillDocument, view: View): Placed[] {
  const labels = fixedOf(document, view).map(({ name, words, at: [x, y] }): Label => {
    const width = widthOf(words)
    const above: Point = [x - width / 2, y - 10 - LINE_PX]
    const below: Point = [x - width / 2, y + 12]
    const sides: Point[] = [[x + 11, y - LINE_PX / 2], [x - 11 - width, y - LINE_PX / 2]]
    const corners = [8, -8 - width].flatMap((dx) => [y - 9 - LINE_PX, y + 11].map((top): Point => [x + dx, top]))
    const tries = name === 'entry' ? [below, above, ...sides, ...corners] : [above, below, ...sides, ...corners]
    return { key: String(name), width, height: LINE_PX, tries, must: true }
  })
  const marks = marksOf(document, view)
  const clear = placeLabels(labels.map((label) => ({ ...label, must: false })), [...marks, ...edgesOf(document, view)], view.bounds)
  const rest = labels.filter(({ key }) => !clear.some((placed) => placed.key === key))
  return [...clear, ...placeLabels(rest, [...marks, ...clear], view.bounds)]
}

/** Everything that stands on the plan already, for words that come to it. */
export function takenBy(document: DrillDocument, view: View): Rectangle[] {
  return [...marksOf(document, view), ...namesOf(document, view)]
}
