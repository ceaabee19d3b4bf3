/** The parts of the Drill page in the order of the work. Each is a file `parts/NAME.part.ts`. */
import type { Component } from 'svelte'

import type { Key } from '../words'
import { PARTS, type DrillState, type PartName } from './state.svelte'

export type Piece = Component<{ drill: DrillState; id: string }>

export interface Layer {
  name: string
  words: Key
  /** Why there is nothing to show; null if there is something. */
  empty?: (drill: DrillState, id: string) => Key | null
}

/** Something drawn on the plan of a drill. */
export interface Drawn {
  name: string
  /** SVG in metres directly on the sheet, under everything else. */
  Base?: Piece
  /** HTML or canvas on the plan, in every part; each checks `drill.layers` and `drill.part` itself. */
  Under?: Piece
  /** SVG in metres. */
  Ground?: Piece
  /** SVG in pixels over the ground, on a sheet that is redrawn while things move. */
  Marks?: Piece
  /** Its part of the sentence about the pointer's place, below the plan. */
  Pointer?: Piece
  /** Layers that can be shown or hidden while the part is open. */
  layers?: readonly Layer[]
  /** The legend of its colours and lines on the plan. */
  Legend?: Piece
}

export interface Part extends Drawn {
  name: PartName
  /** Its short name among the steps. */
  title: Key
  /** The question that the part answers, at its top. */
  question: Key
  /** The words column, fetched when the part is opened. */
  load: () => Promise<{ default: Piece }>
}

const found = import.meta.glob<{ part: Part }>('./parts/*.part.ts', { eager: true })

export const parts: readonly Part[] = Object.values(found)
  .map((module) => module.part)
  .sort((a, b) => PARTS.indexOf(a.name) - PARTS.indexOf(b.name))

/** The part with a name from the address; by default the first. */
export const partOf = (name: string | null): Part | undefined => parts.find((part) => part.name === name) ?? parts[0]

/** Load every column in the background, so that a part opens even while the service is briefly gone. */
export function loadParts(): void {
  void Promise.allSettled(parts.map(({ load }) => load()))
}
