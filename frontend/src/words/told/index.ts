import { constants } from './constants'
import { files } from './files'
import { ground } from './ground'
import { records } from './records'
import { service } from './service'
import { strips } from './strips'

/**
 * Sentences that the service says in English, each with the same in the other languages. In English
 * they stand as they come; `{name}` stands for what changes.
 */
export type Told = readonly (readonly [english: string, german: string])[]

export const told: Told = [
  ...constants,
  ...ground,
  ...records,
  ...strips,
  ...service,
  ...files,
]
