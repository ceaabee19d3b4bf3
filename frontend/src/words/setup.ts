/** Words for the unit tests. */
import { useWords } from '.'
import { en } from './en'

useWords('en', en)
