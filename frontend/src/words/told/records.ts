import type { Told } from '.'

/** What forgetting a person tells, and why a record was refused. */
export const records: Told = [
]
