import { mount } from 'svelte'

import { wantedLanguages } from '../app/settings.svelte'
import '../theme/tokens.css'
import '../theme/letters.css'
import '../theme/base.css'
import '../clock/clock.css'
import { day } from '../clock/day.svelte'
import { useCarriedWords } from '../words/load'
import Codes from './Codes.svelte'

useCarriedWords(wantedLanguages())

const target = document.getElementById('codes')
if (target) mount(Codes, { target })
void day.open()
