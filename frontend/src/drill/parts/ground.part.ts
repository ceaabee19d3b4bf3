import GroundBelow from '../layers/GroundBelow.svelte'
import GroundMarks from '../layers/GroundMarks.svelte'
import SlopeShade from '../layers/SlopeShade.svelte'
import { groundUnder } from '../site/under.svelte'
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
    { name: 'ground', words: 'layer.ground', empty: (drill) => (drill.document.site.slope_deg > 0 ? null : 'layer.level') },
    { name: 'relief', words: 'layer.relief', empty: (drill, id) => (groundUnder(drill, id).told ? null : 'layer.noGrid') },
  ],
}
