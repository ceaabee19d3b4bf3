import TraceLayer from '../layers/TraceLayer.svelte'
import TraceMarks from '../layers/TraceMarks.svelte'
import type { Part } from '../parts'
import Rehearsal from './Rehearsal.svelte'

export const part: Part = {
  name: 'rehearsal',
  title: 'rehearsal.title',
  question: 'rehearsal.question',
  Part: Rehearsal,
  Ground: TraceLayer,
  Marks: TraceMarks,
}
