import type { Told } from '.'

/** What the constants of the model are called, where a page says which of them make a band wide. */
export const constants: Told = [
]
