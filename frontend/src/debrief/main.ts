import { mount } from 'svelte'

import '../theme/tokens.css'
import '../theme/base.css'
import '../theme/print.css'
import { useLanguage } from '../words'
import Debrief from './Debrief.svelte'
import { parseDocument } from './document'
import Fault from './Fault.svelte'

useLanguage(document.documentElement.lang)

const target = document.getElementById('debrief')
const { document: debrief, faults } = parseDocument(document.getElementById('debrief-document')?.textContent ?? '')
if (target && debrief) mount(Debrief, { target, props: { document: debrief, ownsPage: true } })
else if (target) mount(Fault, { target, props: { faults } })
