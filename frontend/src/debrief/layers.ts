/** The layers of the plan, in the order of their switches. */
export const LAYERS = ['tracks', 'swept', 'gaps', 'hearing', 'flux', 'lanes', 'burials', 'ground'] as const
export type Layer = (typeof LAYERS)[number]

/** The layers shown when a debrief is opened: what people did, not what every set would read. */
export const FIRST_SHOWN: readonly Layer[] = ['tracks', 'swept', 'gaps', 'flux', 'burials', 'ground']
