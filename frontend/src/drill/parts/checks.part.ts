import type { Part } from '../parts'
import Checks from './Checks.svelte'

export const part: Part = { name: 'checks', title: 'checks.title', question: 'checks.question', Part: Checks }
