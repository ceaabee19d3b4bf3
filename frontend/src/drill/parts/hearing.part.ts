import HearingMarks from '../layers/HearingMarks.svelte'
import HearingPointer from '../layers/HearingPointer.svelte'
import HearingUnder from '../layers/HearingUnder.svelte'
import type { Part } from '../parts'
import Hearing from './Hearing.svelte'

export const part: Part = {
  name: 'hearing',
  title: 'hearing.title',
  question: 'hearing.question',
  Part: Hearing,
  Under: HearingUnder,
  Marks: HearingMarks,
  Pointer: HearingPointer,
  layers: [
    { name: 'hearing', words: 'hearing.layer' },
    { name: 'readings', words: 'hearing.readingsLayer' },
    { name: 'flux', words: 'hearing.fluxLayer' },
  ],
}
