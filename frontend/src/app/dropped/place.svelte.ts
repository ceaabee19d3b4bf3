/** A place for files on a page: told to the one place that takes any dropped file, for as long as it is there. */
import { onMount, untrack } from 'svelte'

import { dropped, type Taker } from './dropped.svelte'

interface Told extends Omit<Taker, 'show'> {
  element: () => HTMLElement | undefined
}

/** Use it while a component is set up. */
export function placeForFiles(told: Told): { take: (files: readonly File[]) => void } {
  const taker: Taker = {
    ...told,
    show: () => told.element()?.scrollIntoView({ block: 'nearest' }),
  }
  onMount(() => dropped.register(taker))
  $effect(() => {
    if (!taker.busy()) untrack(() => dropped.free(taker))
  })
  return { take: (files) => void dropped.take(files, taker) }
}
