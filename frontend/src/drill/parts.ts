/** The parts of the Drill page in the order of the work. Each is a file `parts/NAME.part.ts`. */
import type { Component } from 'svelte'

import type { Key } from '../words'
import { PARTS, type DrillState, type PartName } from './state.svelte'

export type Piece = Component<{ drill: DrillState; id: string }>

export interface Layer {
  name: string
  words: Key
  /** Why there is nothing to show, where there is nothing; null: there is something. */
  empty?: (drill: DrillState, id: string) => Key | null
}

/** What draws itself on the plan of a drill. */
export interface Drawn {
  name: string
  /** SVG in metres right on the sheet, under everything else. */
  Base?: Piece
  /** Drawn on the plan, whichever part is open; each looks at `drill.layers` and `drill.part` itself. HTML or canvas. */
  Under?: Piece
  /** SVG in metres. */
  Ground?: Piece
  /** SVG in pixels, over the ground: a sheet that is drawn again while things move. */
  Marks?: Piece
  /** What the pointer's place tells, in the sentence below the plan. */
  Pointer?: Piece
  /** Layers that can be shown or hidden while it is open. */
  layers?: readonly Layer[]
  /** What its colours and lines on the plan mean. */
  Legend?: Piece
}

export interface Part extends Drawn {
  name: PartName
  /** Its short name among the steps. */
  title: Key
  /** The question that it answers, at its top. */
  question: Key
  /** The words column, fetched when the part is opened. */
  load: () => Promise<{ default: Piece }>
}

const found = import.meta.glob<{ part: Part }>('./parts/*.part.ts', { eager: true })

export const parts: readonly Part[] = Object.values(found)
  .map((module) => module.part)
  .sort((a, b) => PARTS.indexOf(a.name) - PARTS.indexOf(b.name))

/** The part of a name, as an address tells it; without one the first. */
export const partOf = (name: string | null): Part | undefined => parts.find((part) => part.name === name) ?? parts[0]

/** Fetch every words column while nobody waits, so that a part opens also when the service is gone for a moment. */
export function loadParts(): void {
  void Promise.allSettled(parts.map(({ load }) => load()))
}
