/** Changes to one burial, each with its name for undo. */
import { notices } from '../../app/notices.svelte'
import type { Point } from '../../plan/point'
import { say } from '../../words'
import { TRANSMITTER, type Burial, type Transmitter } from '../document'
import type { DrillState } from '../state.svelte'
import { newBurial } from './burials'

export interface BurialEdit {
  move: (place: Point) => void
  turn: (azimuth_deg: number) => void
  tilt: (tilt_deg: number) => void
  set: (change: Partial<Pick<Burial, 'depth_m' | 'outline' | 'body_azimuth_deg'>>) => void
  transmitter: (change: Partial<Transmitter> | null) => void
  /** Hide this set of the kit, or (null) an unnamed one. */
  hide: (label: string | null, values: Partial<Transmitter>) => void
  rename: (id: string) => void
  remove: () => void
}

export function edit(drill: DrillState, id: string): BurialEdit {
  const change = (label: string, write: (burial: Burial) => void, merge: string | null = null): void =>
    drill.change(
      label,
      (draft) => {
        const burial = draft.burials.find((one) => one.id === id)
        if (burial) write(burial)
      },
      merge && `${merge} ${id}`,
    )
  return {
    move: (place) => change(say('burial.didMove', { id }), (burial) => void (burial.position_m = place), 'move'),
    turn: (azimuth_deg) => change(say('burial.didTurn', { id }), (burial) => void (antennaOf(burial).azimuth_deg = azimuth_deg), 'turn'),
    tilt: (tilt_deg) => change(say('burial.didTilt', { id }), (burial) => void (antennaOf(burial).tilt_deg = tilt_deg), 'tilt'),
    set: (values) => change(say('burial.didChange', { id }), (burial) => void Object.assign(burial, values), Object.keys(values).join()),
    transmitter: (values) =>
      change(say('burial.didChange', { id }), (burial) => {
        if (values === null) Object.assign(burial, { transmitter: null, set: null })
        else {
          antennaOf(burial)
          burial.transmitter = { ...TRANSMITTER, ...burial.transmitter, ...values }
        }
      }, values && `set ${Object.keys(values).join()}`),
    hide: (label, values) =>
      change(say('burial.didChange', { id }), (burial) => {
        antennaOf(burial)
        burial.set = label
        burial.transmitter = { ...TRANSMITTER, ...burial.transmitter, ...values }
      }),
    rename: (name) => {
      change(say('burial.didRename', { id }), (burial) => void (burial.id = name))
      if (drill.selected === id) drill.selected = name
    },
    remove: () => {
      drill.change(say('burial.didRemove', { id }), (draft) => void (draft.burials = draft.burials.filter((one) => one.id !== id)))
      if (drill.selected === id) drill.selected = null
      notices.say(say('burial.removed', { id }), () => drill.undo())
    },
  }
}

/** Add a burial at a place, with a free name, and select it. */
export function place(drill: DrillState, at: Point, taken: readonly string[] = []): void {
  const burial = newBurial(at, drill.document, taken)
  drill.change(say('burial.didPlace', { id: burial.id }), (draft) => void draft.burials.push(burial))
  drill.selected = burial.id
}

/** The burial's antenna; level and to the north if it had none. */
function antennaOf(burial: Burial): { azimuth_deg: number; tilt_deg: number } {
  burial.antenna ??= { azimuth_deg: burial.body_azimuth_deg ?? 0, tilt_deg: 0 }
  return burial.antenna
}
