import { mount } from 'svelte'

import { wantedLanguages } from '../app/settings.svelte'
import '../theme/tokens.css'
import '../theme/letters.css'
import '../theme/base.css'
import './clock.css'
import { useCarriedWords } from '../words/load'
import Clock from './Clock.svelte'
import { day } from './day.svelte'
import type { Run } from './items'
import { sender } from './hut/sender.svelte'
import { go } from './route.svelte'

useCarriedWords(wantedLanguages())

const target = document.getElementById('clock')
if (target) mount(Clock, { target })

/** A file that was written with a run opens that run. */
async function begin(): Promise<void> {
  await day.open()
  await sender.open()
  const carried = document.getElementById('carried-run')?.textContent?.trim()
  if (!carried) return
  const run = JSON.parse(carried) as Run
  await day.keepRun(run).catch(() => null)
  if (!location.hash) go('run', run.id)
}
void begin()

// Only if the page is on an https host together with the files needed to install it.
if ('serviceWorker' in navigator && isSecureContext && document.querySelector('link[rel="manifest"]')) {
  void navigator.serviceWorker.register('sw.js').catch(() => null)
}
