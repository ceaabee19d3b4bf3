import type { Part } from '../parts'
import Group from './Group.svelte'

export const part: Part = {
  name: 'group',
  title: 'group.title',
  question: 'group.question',
  Part: Group,
}
