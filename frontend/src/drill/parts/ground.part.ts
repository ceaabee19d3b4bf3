import GroundBelow from '../layers/GroundBelow.svelte'
import GroundLegend from '../layers/GroundLegend.svelte'
import GroundMarks from '../layers/GroundMarks.svelte'
import PictureBelow from '../layers/PictureBelow.svelte'
import SlopeShade from '../layers/SlopeShade.svelte'
import { pictureUnder } from '../site/picture.svelte'
import { groundUnder } from '../site/under.svelte'
import type { Part } from '../parts'

export const part: Part = {
  name: 'ground',
  title: 'site.title',
  question: 'site.question',
  load: () => import('./Ground.svelte'),
  Base: PictureBelow,
  Under: SlopeShade,
  Ground: GroundBelow,
  Marks: GroundMarks,
  Legend: GroundLegend,
  layers: [
    { name: 'ground', words: 'layer.ground', empty: (drill) => (drill.document.site.slope_deg > 0 ? null : 'layer.level') },
    { name: 'relief', words: 'layer.relief', empty: (drill, id) => (groundUnder(drill, id).told ? null : 'layer.noGrid') },
    { name: 'hills', words: 'layer.hills', empty: (drill, id) => (groundUnder(drill, id).told ? null : 'layer.noGrid') },
    { name: 'picture', words: 'layer.picture', empty: (drill, id) => (pictureUnder(drill, id).kept?.matrix ? null : 'layer.noPicture') },
  ],
}
