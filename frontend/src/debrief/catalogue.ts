/** The parts of the catalogue that the page to hand out carries: what a debrief says, and no more. */
import { debrief as german } from '../words/de/debrief'
import { figures as germanFigures } from '../words/de/figures'
import { how as germanHow } from '../words/de/how'
import { debrief } from '../words/en/debrief'
import { figures } from '../words/en/figures'
import { how } from '../words/en/how'

export const english = { ...figures, ...how, ...debrief }
export const inGerman = { ...germanFigures, ...germanHow, ...german }
