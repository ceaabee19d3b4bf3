/** The checklist in the order of the work; the text of each key is `checks.do.KEY`, and ticked keys are kept. */
export const LISTS = {
  evening: ['bulletin', 'rescue-service', 'batteries', 'sacks', 'first-aid'],
  arrive: ['look-up', 'word', 'count', 'other-groups', 'gear-in-use'],
  hide: ['keeper', 'transmits', 'padding', 'tracks-covered'],
  group: ['all-on', 'all-receive', 'all-transmit', 'leader-shown'],
  run: ['phones', 'clock', 'width-said', 'stop-word'],
  end: ['sets-counted', 'pits', 'transmit-again', 'told-again'],
} as const

export type ListName = keyof typeof LISTS
export type CheckName = (typeof LISTS)[ListName][number]
export const LIST_NAMES = Object.keys(LISTS) as ListName[]
export const ALL_CHECKS: readonly string[] = Object.values(LISTS).flat()
