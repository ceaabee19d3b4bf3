/** The names of the fixed places of a ground on its plan. */
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
}

export function fixedOf({ site }: DrillDocument, view: View): Fixed[] {
  return [
    ...site.anchors.map((anchor, name) => ({ name, words: anchor.name, at: view.toPixel(anchor.position_m) })),
    { name: 'entry', words: say('plan.entry'), at: view.toPixel(site.entry_m) },
    ...(site.last_seen_m ? [{ name: 'seen' as const, words: say('plan.lastSeen'), at: view.toPixel(site.last_seen_m) }] : []),
  ]
}
