import TraceLayer from '../layers/TraceLayer.svelte'
import TraceMarks from '../layers/TraceMarks.svelte'
import type { Part } from '../parts'

export const part: Part = {
  name: 'rehearsal',
  title: 'rehearsal.title',
  question: 'rehearsal.question',
  load: () => import('./Rehearsal.svelte'),
  Ground: TraceLayer,
  Marks: TraceMarks,
}
