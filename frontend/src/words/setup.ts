/** Words for the unit tests. */
import { useWords } from '.'
import { en } from './disk'

useWords(en, en.words)
