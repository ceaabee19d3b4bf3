import { mount } from 'svelte'

import '../theme/tokens.css'
import '../theme/base.css'
import '../theme/print.css'
import { useWords } from '../words'
import { debrief } from '../words/en/debrief'
import { figures } from '../words/en/figures'
import Page from './Page.svelte'

useWords('en', { ...figures, ...debrief })

const target = document.getElementById('debrief')
const json = document.getElementById('debrief-document')?.textContent ?? ''
if (target) mount(Page, { target, props: { json } })
