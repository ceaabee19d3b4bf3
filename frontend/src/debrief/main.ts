import { mount } from 'svelte'

import '../theme/tokens.css'
import '../theme/letters.css'
import '../theme/letters-bold-ext.css'
import '../theme/base.css'
import '../theme/print.css'
import { refuse } from '../app/dropped/stay'
import { languageOf, useWords } from '../words'
import { debriefTold } from '../words/told/debrief'
import { english, inGerman } from './catalogue'
import Page from './Page.svelte'

// The language is that of the file: who hands it out has chosen.
if (languageOf(document.documentElement.lang) === 'de') useWords('de', inGerman, debriefTold)
else useWords('en', english)

// The page holds its debrief and takes no files; a slip of the hand does not close it.
for (const name of ['dragover', 'drop'] as const) addEventListener(name, refuse)

const target = document.getElementById('debrief')
const json = document.getElementById('debrief-document')?.textContent ?? ''
if (target) mount(Page, { target, props: { json } })
