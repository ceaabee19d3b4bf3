import type { Told } from '.'

/** The screen of a site on its elevation grid, files of ground that cannot be used, faults of a drill. */
export const ground: Told = [
  [
  ],
]
