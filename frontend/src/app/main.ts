import { mount } from 'svelte'

import '../theme/tokens.css'
import '../theme/drawn.css'
import '../theme/letters.css'
import '../theme/letters-bold-ext.css'
import '../theme/base.css'
import '../theme/app.css'
import '../theme/lists.css'
import '../theme/print.css'
import { useServedWords } from '../words/load'
import { wantedLanguages } from './settings.svelte'

async function start(): Promise<void> {
  const target = document.getElementById('app')
  try {
    await useServedWords(wantedLanguages())
  } catch {
    // Without a catalogue the message can only be in English.
    if (target) target.textContent = 'Coldfield does not answer. Start it, then load this page again.'
    return
  }
  const { default: App } = await import('./App.svelte')
  if (target) mount(App, { target })
}

void start()
