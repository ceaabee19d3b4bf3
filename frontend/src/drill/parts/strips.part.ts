import ChanceLayer from '../layers/ChanceLayer.svelte'
import LanesLayer from '../layers/LanesLayer.svelte'
import LaneMarks from '../layers/LaneMarks.svelte'
import type { Key } from '../../words'
import { canHear } from '../strips.svelte'
import type { DrillState } from '../state.svelte'
import type { Part } from '../parts'

const noSet = (drill: DrillState): Key | null => (canHear(drill.document) ? null : 'strips.noSetLayer')

export const part: Part = {
  name: 'strips',
  title: 'strips.title',
  question: 'strips.question',
  load: () => import('./Strips.svelte'),
  Under: ChanceLayer,
  Ground: LanesLayer,
  Marks: LaneMarks,
  layers: [
    { name: 'lanes', words: 'strips.layerLanes', empty: noSet },
    { name: 'chance', words: 'strips.layerChance', empty: noSet },
  ],
}
