import BurialBodies from '../layers/BurialBodies.svelte'
import BurialMarks from '../layers/BurialMarks.svelte'
import type { Part } from '../parts'

export const part: Part = {
  name: 'burials',
  title: 'hidden.title',
  question: 'hidden.question',
  load: () => import('./Burials.svelte'),
  Ground: BurialBodies,
  Marks: BurialMarks,
  layers: [{ name: 'burials', words: 'layer.burials', empty: (drill) => (drill.document.burials.length ? null : 'layer.noBurials') }],
}
