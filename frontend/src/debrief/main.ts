import { mount } from 'svelte'

import '../theme/tokens.css'
import '../theme/drawn.css'
import '../theme/letters.css'
import '../theme/letters-bold-ext.css'
import '../theme/base.css'
import '../theme/print.css'
import { refuse } from '../app/dropped/stay'
import { useCarriedWords } from '../words/load'
import type { Laid } from '../plan/laid'
import Page from './Page.svelte'

// The file contains one language, chosen by the person who made it.
useCarriedWords([document.documentElement.lang])

// The page takes no files, so an accidental drop must not replace it.
for (const name of ['dragover', 'drop'] as const) addEventListener(name, refuse)

const target = document.getElementById('debrief')
const json = document.getElementById('debrief-document')?.textContent ?? ''
const picture = document.getElementById('debrief-picture')?.textContent
const under = picture ? (JSON.parse(picture) as Laid) : null
if (target) mount(Page, { target, props: { json, under } })
