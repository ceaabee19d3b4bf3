/** Changes to the ground, each with its name for undo. */
import type { Point } from '../../plan/point'
import { say, type Key } from '../../words'
import type { Site } from '../document'
import { tenths } from '../hidden/burials'
import type { DrillState } from '../state.svelte'
import { ringIn, type RingName } from './rings'

/** Change the site; `what` is the name of the step. */
export function changeSite(drill: DrillState, what: Key, write: (site: Site) => void, merge: string | null = null): void {
  drill.change(say(what), (draft) => write(draft.site), merge)
}

export function moveCorner(drill: DrillState, name: RingName, index: number, place: Point): void {
  changeSite(drill, 'site.didCorner', (site) => void (ringIn(site, name)[index] = tenths(place)), `corner ${name} ${index}`)
}

/** Insert a corner after another one. */
export function insertCorner(drill: DrillState, name: RingName, after: number, place: Point): void {
  changeSite(drill, 'site.didInsert', (site) => void ringIn(site, name).splice(after + 1, 0, tenths(place)), `corner ${name} ${after + 1}`)
}

/** Remove a corner; a hole with three corners is removed completely. */
export function removeCorner(drill: DrillState, name: RingName, index: number): void {
  const corners = ringIn(drill.document.site, name).length
  if (corners > 3) changeSite(drill, 'site.didRemoveCorner', (site) => void ringIn(site, name).splice(index, 1))
  else if (name !== 'boundary') removeHole(drill, name)
}

export function removeHole(drill: DrillState, index: number): void {
  changeSite(drill, 'site.didRemoveHole', (site) => void site.holes_m.splice(index, 1))
}

/** A fixed point: the entry, the last-seen point, or an anchor. */
export type FixedName = 'entry' | 'seen' | number

export function placeOf({ entry_m, last_seen_m, anchors }: Site, name: FixedName): Point | null {
  if (name === 'entry') return entry_m
  return name === 'seen' ? last_seen_m : (anchors[name]?.position_m ?? null)
}

export function moveFixed(drill: DrillState, name: FixedName, to: Point): void {
  const at = tenths(to)
  const write = (site: Site): void => {
    const anchor = typeof name === 'number' ? site.anchors[name] : undefined
    if (name === 'entry') site.entry_m = at
    else if (name === 'seen') site.last_seen_m = at
    else if (anchor) anchor.position_m = at
  }
  const what = { entry: 'site.didEntry', seen: 'site.didSeen' } as const
  changeSite(drill, typeof name === 'number' ? 'site.didAnchor' : what[name], write, `fixed ${name}`)
}

export function removeFixed(drill: DrillState, name: FixedName): void {
  if (name === 'seen') changeSite(drill, 'site.didNotSeen', (site) => void (site.last_seen_m = null))
  else if (typeof name === 'number') changeSite(drill, 'site.didRemoveAnchor', (site) => void site.anchors.splice(name, 1))
}

/** A free name for an anchor. */
export function anchorName({ anchors }: Site): string {
  for (let n = anchors.length + 1; ; n++) {
    const name = say('site.anchorNamed', { n })
    if (!anchors.some((anchor) => anchor.name === name)) return name
  }
}
