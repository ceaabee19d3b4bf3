import ChanceLayer from '../layers/ChanceLayer.svelte'
import LanesLayer from '../layers/LanesLayer.svelte'
import LaneMarks from '../layers/LaneMarks.svelte'
import type { Part } from '../parts'
import Strips from './Strips.svelte'

export const part: Part = {
  name: 'strips',
  title: 'strips.title',
  question: 'strips.question',
  Part: Strips,
  Under: ChanceLayer,
  Ground: LanesLayer,
  Marks: LaneMarks,
  layers: [
    { name: 'lanes', words: 'strips.layerLanes' },
    { name: 'chance', words: 'strips.layerChance' },
  ],
}
