import { mount } from 'svelte'

import '../theme/tokens.css'
import '../theme/base.css'
import '../theme/print.css'
import { useLanguage } from '../words'
import Page from './Page.svelte'

useLanguage(document.documentElement.lang)

const target = document.getElementById('debrief')
const json = document.getElementById('debrief-document')?.textContent ?? ''
if (target) mount(Page, { target, props: { json } })
