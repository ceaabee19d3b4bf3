/** The parts of the catalogue that the clock carries. */
import { checkWords as germanChecks } from '../words/de/check_group'
import { clock as german } from '../words/de/clock'
import { everywhere as germanEverywhere } from '../words/de/everywhere'
import { figures as germanFigures } from '../words/de/figures'
import { lying as germanLying } from '../words/de/lying'
import { checkWords } from '../words/en/check_group'
import { clock } from '../words/en/clock'
import { everywhere } from '../words/en/everywhere'
import { figures } from '../words/en/figures'
import { lying } from '../words/en/lying'

export const english = { ...figures, ...everywhere, ...lying, ...checkWords, ...clock }
export const inGerman = { ...germanFigures, ...germanEverywhere, ...germanLying, ...germanChecks, ...german }
