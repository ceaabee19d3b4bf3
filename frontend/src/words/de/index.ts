import type { Entry, Key } from '..'
import { debrief } from '../en/debrief'
import { figures } from './figures'
import { hearing } from './hearing'
import { runs } from './runs'
import { shell } from './shell'

/** Everything Coldfield says, in German; a string that is missing fails the type check. */
export const de: Record<Key, Entry> = { ...figures, ...debrief, ...hearing, ...runs, ...shell }
