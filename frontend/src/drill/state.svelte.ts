/** The Drill page's state: the document with its undo, what is selected, which part is open, the view. */
import { SvelteSet } from 'svelte/reactivity'

import type { SchemaDrillPart } from '../api/schema'
import { paper } from '../app/paper.svelte'
import { PlanView, PRINTED } from '../plan/planview.svelte'
import type { Rectangle } from '../plan/labels'
import type { Point } from '../plan/point'
import { boxOf, type Box } from '../plan/polyline'
import { complete, type Burial, type DrillDocument } from './document'
import { typedInto } from './fields/typing'

export const PARTS = ['ground', 'burials', 'group', 'hearing', 'strips', 'rehearsal', 'checks'] as const
export type PartName = (typeof PARTS)[number]

/** Keyboard changes with the same merge key within this time are one undo step. */
const JOIN_MS = 1000

/** The width from which a plan has room for the legend beside the ground, and the legend's width, px. */
const [WIDE_PX, LEGEND_PX] = [640, 196]

/** The storage of the drill: a LiveRecord of drills. */
export interface Kept {
  readonly form: { document: SchemaDrillPart; checks?: string[] }
  readonly undoLabel: string | null
  readonly redoLabel: string | null
  change: (label: string, edit: (draft: { document: SchemaDrillPart; checks?: string[] }) => void, gesture?: string | null) => void
  hold: (on: boolean) => void
  abandon: (gesture: string) => void
  undo: () => void
  redo: () => void
}

/** What presses and keys on the empty plan do while something is drawn or placed. */
export interface Tool {
  name: string
  /** The instruction for the person. */
  words: string
  press: (place: Point) => void
  /** The instruction is shown elsewhere, not above the plan. */
  quiet?: boolean
  /** Enter. */
  finish?: () => void
  /** Backspace. */
  back?: () => void
}

export class DrillState {
  /** The current drill, including a gesture in progress. Read-only: see `change`. */
  readonly document: DrillDocument = $derived.by(() => complete(this.kept.form.document))
  readonly view: PlanView
  /** The visible layers; each part adds its own. */
  readonly layers = new SvelteSet<string>(['burials', 'ground', 'relief', 'hills', 'picture'])
  /** Whether the legend is on the plan, which then leaves room for it on the left. */
  legendOpen = $state(false)
  /** Where it stands, in pixels of the plan; below the plan where that is narrow. */
  legend = $state.raw<Rectangle>({ x: 0, y: 0, width: 0, height: 0 })
  part = $state<PartName>('ground')
  /** The selected burial's id. */
  selected = $state<string | null>(null)
  /** Whether a gesture is moving something; the document already contains the new place. */
  dragging = $state(false)
  /** What a press on the empty plan does; null: it clears the selection. */
  tool = $state.raw<Tool | null>(null)

  private gesture = 0
  private lastMerge: string | null = null
  private lastAt_ms = 0

  constructor(private readonly kept: Kept) {
    const indent = (): number => (this.legendOpen && !paper.printing && this.view.size.width >= WIDE_PX ? LEGEND_PX : 0)
    this.view = new PlanView(groundBox(this.document), { leastTimes: 0.15, indent, fixed: () => (paper.printing ? PRINTED : null) })
  }

  /** Where the pointer is on the plan, metres east and north. */
  get pointer(): Point | null {
    return this.view.pointer
  }

  get burial(): Burial | null {
    return this.document.burials.find((burial) => burial.id === this.selected) ?? null
  }

  /**
   * Change the document as one undo step with a label. Changes with the same `merge` key are joined within a gesture, or if they follow closely, as with held-down keys.
   */
  change(label: string, edit: (draft: DrillDocument) => void, merge: string | null = null): void {
    const before = this.document
    const typed = typedInto()
    const key = typed ?? merge
    const gesture = key === null ? null : `${key}#${this.joined(key, typed !== null)}`
    this.kept.change(
      label,
      (draft) => {
        // The first change replaces the stored file with one that has its defaults filled in.
        if (this.kept.form.document !== (before as unknown)) draft.document = before as unknown as SchemaDrillPart
        edit(draft.document as unknown as DrillDocument)
      },
      gesture,
    )
  }

  /** The ticked items of the checklist. */
  get checks(): readonly string[] {
    return this.kept.form.checks ?? []
  }

  /** Change the ticked items of the checklist; they are kept with the drill and can be undone. */
  tick(label: string, checks: readonly string[]): void {
    this.kept.change(label, (draft) => (draft.checks = [...checks]))
  }

  /** Begin a gesture: its changes are one step, saved when it ends. */
  begin(): void {
    this.dragging = true
    this.gesture += 1
    this.lastMerge = null
    this.kept.hold(true)
  }

  /** End the gesture and keep its changes. */
  end(): void {
    this.dragging = false
    this.lastMerge = null
    this.kept.hold(false)
  }

  /** Cancel the gesture: restore the state before it. */
  cancel(): void {
    const merge = this.lastMerge
    this.dragging = false
    this.lastMerge = null
    if (merge === null) this.kept.hold(false)
    else this.kept.abandon(`${merge}#${this.gesture}`)
  }

  get undoLabel(): string | null {
    return this.kept.undoLabel
  }

  get redoLabel(): string | null {
    return this.kept.redoLabel
  }

  undo(): void {
    if (!this.dragging) this.kept.undo()
  }

  redo(): void {
    if (!this.dragging) this.kept.redo()
  }

  toggle(layer: string): void {
    if (!this.layers.delete(layer)) this.layers.add(layer)
  }

  fit(): void {
    this.view.fitTo(groundBox(this.document))
  }

  private joined(merge: string, typed: boolean): number {
    const now_ms = performance.now()
    const joins = this.lastMerge === merge && (typed || this.dragging || now_ms - this.lastAt_ms < JOIN_MS)
    if (!joins && !this.dragging) this.gesture += 1
    this.lastMerge = merge
    this.lastAt_ms = now_ms
    return this.gesture
  }
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
