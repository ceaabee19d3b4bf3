import { mount } from 'svelte'

import '../theme/tokens.css'
import '../theme/base.css'
import '../theme/print.css'
import { languageOf, useWords } from '../words'
import { debrief as german } from '../words/de/debrief'
import { figures as germanFigures } from '../words/de/figures'
import { debrief } from '../words/en/debrief'
import { figures } from '../words/en/figures'
import { debriefTold } from '../words/told/debrief'
import Page from './Page.svelte'

// The language is that of the file: who hands it out has chosen.
if (languageOf(document.documentElement.lang) === 'de') useWords('de', { ...germanFigures, ...german }, debriefTold)
else useWords('en', { ...figures, ...debrief })

const target = document.getElementById('debrief')
const json = document.getElementById('debrief-document')?.textContent ?? ''
if (target) mount(Page, { target, props: { json } })
