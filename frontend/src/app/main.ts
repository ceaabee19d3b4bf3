import { mount } from 'svelte'

import '../theme/tokens.css'
import '../theme/letters.css'
import '../theme/letters-bold-ext.css'
import '../theme/base.css'
import '../theme/app.css'
import '../theme/lists.css'
import '../theme/print.css'
import { useWords } from '../words'
import { wantedLanguage } from './settings.svelte'

async function start(): Promise<void> {
  const language = wantedLanguage()
  document.documentElement.lang = language
  if (language === 'de') {
    const [{ de }, { told }] = await Promise.all([import('../words/de'), import('../words/told')])
    useWords('de', de, told)
  } else {
    useWords('en', (await import('../words/en')).en)
  }
  const target = document.getElementById('app')
  const { default: App } = await import('./App.svelte')
  if (target) mount(App, { target })
}

void start()
