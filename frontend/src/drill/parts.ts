/** The parts of the Drill page in the order of the work; each helps itself to the drill's state. */
import type { Component } from 'svelte'

import type { Key } from '../words'
import type { DrillState, PartName } from './state.svelte'

type Piece = Component<{ drill: DrillState }>

export interface Part {
  name: PartName
  /** The question that the part answers, at its top. */
  question: Key
  /** The words column. */
  Part: Piece
  /** Drawn on the plan while the part is open or its layer is shown: HTML or canvas, under everything. */
  Under?: Piece
  /** SVG in metres. */
  Ground?: Piece
  /** SVG in pixels, over the ground. */
  Marks?: Piece
  /** What the pointer's place tells, below the plan. */
  Pointer?: Piece
  /** Layers that this part brings to the row below the plan: name and the word for it. */
  layers?: { name: string; words: Key }[]
}

export const parts: Part[] = []
