/** A drop zone on a page, registered for as long as it exists. */
import { onMount, untrack } from 'svelte'

import { dropped, type Taker } from './dropped.svelte'

interface Told extends Omit<Taker, 'show'> {
  element: () => HTMLElement | undefined
}

/** Call it while a component is being set up. */
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
