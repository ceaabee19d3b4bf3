import type { Part } from '../parts'

export const part: Part = { name: 'checks', title: 'checks.title', question: 'checks.question', load: () => import('./Checks.svelte') }
