/** The Drill page's state: the document with its undo, what is selected, which part is open, the view. */
import { SvelteSet } from 'svelte/reactivity'

import { PlanView } from '../plan/planview.svelte'
import type { Point } from '../plan/point'
import { boxOf, type Box } from '../plan/polyline'
import type { Burial, DrillDocument } from './document'
import { produce } from './draft'

export const PARTS = ['ground', 'burials', 'hearing', 'strips', 'rehearsal', 'checks'] as const
export type PartName = (typeof PARTS)[number]

/** Changes with the same merge key join one step of undo while a gesture lasts, or come this close. */
const JOIN_MS = 1000
const MOST_STEPS = 500

interface Step {
  /** What was done, in the reader's language: 'move burial A'. */
  label: string
  before: DrillDocument
  merge: string | null
  at_ms: number
}

export class DrillState {
  /** The drill as it is now, a gesture's place included. Never written into: see `change`. */
  document = $state.raw<DrillDocument>() as DrillDocument
  readonly view: PlanView
  readonly layers = new SvelteSet<string>(['burials', 'ground'])
  part = $state<PartName>('ground')
  /** The selected burial's id. */
  selected = $state<string | null>(null)
  /** Whether a gesture is moving something; the document already holds the moved place. */
  dragging = $state(false)
  /** What a press on the bare plan does; null: nothing but let go of the selection. */
  tool = $state.raw<Tool | null>(null)

  private done = $state.raw<readonly Step[]>([])
  private undone = $state.raw<readonly Step[]>([])
  private gestureStart: number | null = null

  constructor(document: DrillDocument, private readonly onchange?: (document: DrillDocument) => void) {
    this.document = document
    this.view = new PlanView(groundBox(document), { leastTimes: 0.15 })
  }

  /** Where the pointer is on the plan, metres east and north. */
  get pointer(): Point | null {
    return this.view.pointer
  }

  get burial(): Burial | null {
    return this.document.burials.find((burial) => burial.id === this.selected) ?? null
  }

  /**
   * Change the document: one step of undo, told by its label. Within a gesture, and for keys pressed in
   * quick order, changes with the same `merge` key join.
   */
  change(label: string, change: (draft: DrillDocument) => void, merge: string | null = null): void {
    const before = this.document
    const after = produce(before, change)
    if (after === before) return
    const last = this.done.at(-1)
    const joins = merge !== null && last?.merge === merge && (this.inGesture || now() - last.at_ms < JOIN_MS)
    const step = { label, before: joins ? last.before : before, merge, at_ms: now() }
    this.done = [...(joins ? this.done.slice(0, -1) : this.done).slice(-MOST_STEPS), step]
    this.undone = []
    this.document = after
    this.tell()
  }

  /** A gesture begins: what it changes is one step. */
  begin(): void {
    this.dragging = true
    this.gestureStart = this.done.length
  }

  /** The gesture ends; what it changed is kept. */
  end(): void {
    this.dragging = false
    this.gestureStart = null
    this.seal()
    this.tell()
  }

  /** The gesture was broken off: put back what was before it. */
  cancel(): void {
    const start = this.gestureStart
    const first = start === null ? undefined : this.done[start]
    this.dragging = false
    this.gestureStart = null
    if (first) {
      this.done = this.done.slice(0, start ?? 0)
      this.document = first.before
    }
    this.tell()
  }

  get undoLabel(): string | null {
    return this.done.at(-1)?.label ?? null
  }

  get redoLabel(): string | null {
    return this.undone.at(-1)?.label ?? null
  }

  undo(): void {
    const step = this.done.at(-1)
    if (!step || this.dragging) return
    this.done = this.done.slice(0, -1)
    this.undone = [...this.undone, { ...step, before: this.document, merge: null }]
    this.document = step.before
    this.tell()
  }

  redo(): void {
    const step = this.undone.at(-1)
    if (!step || this.dragging) return
    this.undone = this.undone.slice(0, -1)
    this.done = [...this.done, { ...step, before: this.document, merge: null }]
    this.document = step.before
    this.tell()
  }

  toggle(layer: string): void {
    if (!this.layers.delete(layer)) this.layers.add(layer)
  }

  fit(): void {
    this.view.fitTo(groundBox(this.document))
  }

  private get inGesture(): boolean {
    return this.gestureStart !== null && this.done.length > this.gestureStart
  }

  /** Nothing later joins the last step. */
  private seal(): void {
    const last = this.done.at(-1)
    if (last) this.done = [...this.done.slice(0, -1), { ...last, merge: null }]
  }

  private tell(): void {
    if (!this.dragging) this.onchange?.(this.document)
  }
}

/** What presses and keys on the bare plan do while something is drawn or placed. */
export interface Tool {
  name: string
  /** What to do now, in words. */
  words: string
  press: (place: Point) => void
  /** Enter: finish; Escape puts the tool away. */
  finish?: () => void
  undo?: () => void
}

/** The ground with everything on it. */
export function groundBox({ site, burials }: DrillDocument): Box {
  return boxOf([
    ...site.boundary_m,
    site.entry_m,
    ...(site.last_seen_m ? [site.last_seen_m] : []),
    ...site.anchors.map((anchor) => anchor.position_m),
    ...burials.map((burial) => burial.position_m),
  ])
}

const now = (): number => performance.now()
