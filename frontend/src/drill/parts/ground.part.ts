import GroundBelow from '../layers/GroundBelow.svelte'
import GroundMarks from '../layers/GroundMarks.svelte'
import SlopeShade from '../layers/SlopeShade.svelte'
import type { Part } from '../parts'
import Ground from './Ground.svelte'

export const part: Part = {
  name: 'ground',
  title: 'site.title',
  question: 'site.question',
  Part: Ground,
  Under: SlopeShade,
  Ground: GroundBelow,
  Marks: GroundMarks,
  layers: [
    { name: 'ground', words: 'layer.ground' },
    { name: 'relief', words: 'layer.relief' },
  ],
}
