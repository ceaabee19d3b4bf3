import { debrief } from './debrief'
import { figures } from './figures'
import { hearing } from './hearing'
import { shell } from './shell'

/** Everything Coldfield says, in English: the pattern for every other language. */
export const en = { ...figures, ...debrief, ...hearing, ...shell } as const
