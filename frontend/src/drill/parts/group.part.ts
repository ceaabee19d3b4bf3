import type { Part } from '../parts'

export const part: Part = {
  name: 'group',
  title: 'group.title',
  question: 'group.question',
  load: () => import('./Group.svelte'),
}
