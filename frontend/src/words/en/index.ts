import { debrief } from './debrief'
import { figures } from './figures'
import { shell } from './shell'

/** Everything Coldfield says, in English: the pattern for every other language. */
export const en = { ...figures, ...debrief, ...shell } as const
