import { debrief } from './debrief'
import { figures } from './figures'
import { hearing } from './hearing'
import { runs } from './runs'
import { shell } from './shell'

/** Everything Coldfield says, in English: the pattern for every other language. */
export const en = { ...figures, ...debrief, ...hearing, ...runs, ...shell } as const
