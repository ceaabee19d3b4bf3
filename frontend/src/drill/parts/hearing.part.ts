import HearingMarks from '../layers/HearingMarks.svelte'
import HearingPointer from '../layers/HearingPointer.svelte'
import HearingUnder from '../layers/HearingUnder.svelte'
import Legend from '../hearing/Legend.svelte'
import { hearingOf } from '../hearing/hearing.svelte'
import type { Part } from '../parts'

export const part: Part = {
  name: 'hearing',
  title: 'hearing.title',
  question: 'hearing.question',
  load: () => import('./Hearing.svelte'),
  Under: HearingUnder,
  Marks: HearingMarks,
  Pointer: HearingPointer,
  Legend,
  layers: [
    { name: 'hearing', words: 'hearing.layer' },
    { name: 'readings', words: 'hearing.readingsLayer', empty: (drill) => (hearingOf(drill).way === 'reads' ? null : 'hearing.onlyReads') },
    { name: 'flux', words: 'hearing.fluxLayer', empty: (drill) => (hearingOf(drill).start ? null : 'hearing.noStart') },
  ],
}
