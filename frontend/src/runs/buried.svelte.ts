/** The burials of a run as found, as a drill that can be edited on its plan; the planned burials stay unchanged. */
import { createContext } from 'svelte'

import { produce } from '../api/produce'
import type { SchemaBurialPart, SchemaDrillPart } from '../api/schema'
import { complete, type Burial } from '../drill/document'
import { DrillState, type Kept } from '../drill/state.svelte'
import { distance_m } from '../plan/polyline'
import { say } from '../words'
import { decimal } from '../drill/fields/numbers'
import type { RunState } from './run.svelte'

/** The planned burials, for the drawing on the plan. */
export const [planned, setPlanned] = createContext<() => readonly Burial[]>()

/** A burial moved by less than this, m, or turned by less, degrees, counts as planned. */
const SAME = { m: 0.05, deg: 0.5 }

class Buried implements Kept {
  readonly form: Kept['form'] = $derived.by(() => {
    const drill = this.run.drill as SchemaDrillPart
    return { document: { ...drill, burials: this.run.form.as_buried ?? drill.burials } }
  })

  constructor(private readonly run: RunState) {}

  get undoLabel(): string | null {
    return this.run.undos.undoLabel
  }

  get redoLabel(): string | null {
    return this.run.undos.redoLabel
  }

  change(label: string, edit: (draft: Kept['form']) => void, gesture: string | null = null): void {
    const { burials } = produce(this.form, edit).document
    this.run.change(label, (draft) => void (draft.as_buried = burials), gesture && `buried ${gesture}`)
  }

  hold(on: boolean): void {
    this.run.hold(on)
  }

  abandon(gesture: string): void {
    this.run.abandon(`buried ${gesture}`)
  }

  undo(): void {
    void this.run.undos.undo()
  }

  redo(): void {
    void this.run.undos.redo()
  }
}

/** The drill of a run with its burials as found; changes are kept with the run. */
export function asBuried(run: RunState): DrillState {
  const drill = new DrillState(new Buried(run))
  drill.part = 'burials'
  return drill
}

export const plannedOf = (drill: SchemaDrillPart | null): readonly Burial[] => (drill ? complete(drill).burials : [])

export const movedBy_m = (burial: Burial, from: Burial): number => distance_m(burial.position_m, from.position_m)

/** How a burial differed from the plan: '0.8 m off, 0.2 m deeper'; empty if it did not. */
export function otherwise(burial: Burial, from: Burial): string {
  const off = movedBy_m(burial, from)
  const deeper = burial.depth_m - from.depth_m
  const turned = Math.abs(axis(burial) - axis(from))
  const tilted = Math.abs((burial.antenna?.tilt_deg ?? 0) - (from.antenna?.tilt_deg ?? 0))
  return [
    off >= SAME.m ? say('buried.off', { n: decimal(off, 1) }) : '',
    Math.abs(deeper) >= SAME.m ? say(deeper > 0 ? 'buried.deeper' : 'buried.shallower', { n: decimal(Math.abs(deeper), 2) }) : '',
    turned >= SAME.deg ? say('buried.turned', { n: decimal(Math.min(turned, 360 - turned), 0) }) : '',
    tilted >= SAME.deg ? say('buried.tilted', { n: decimal(tilted, 0) }) : '',
  ]
    .filter(Boolean)
    .join(', ')
}

const axis = ({ antenna }: Burial): number => antenna?.azimuth_deg ?? 0

/** Restore a planned burial that had been left out, at its place in the order. */
export function putBack(drill: DrillState, all: readonly Burial[], one: Burial): void {
  const rank = (id: string): number => {
    const found = all.findIndex((burial) => burial.id === id)
    return found < 0 ? all.length : found
  }
  drill.change(say('buried.didPutBack', { id: one.id }), (draft) => {
    draft.burials = [...draft.burials, one].sort((a, b) => rank(a.id) - rank(b.id))
  })
}

/** Whether the run has its own record of the burials. */
export const told = (buried: readonly SchemaBurialPart[] | null | undefined): boolean => Array.isArray(buried)
