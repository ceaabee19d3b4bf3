import type { Words } from '..'
import type { everywhere as english } from '../en/everywhere'

export const everywhere: Words<typeof english> = {
  'app.language': 'Sprache',
  'app.toDark': 'Dunkel',
  'app.toLight': 'Hell',
  'app.practice': 'Nur für Ausbildung und Planung. Beim echten Unfall: Rettungsdienst rufen und anwenden, was geübt ist – nicht dies hier.',
  'state.loading': 'Wird geladen ...',
  'undo.undo': 'Rückgängig',
  'run.add': 'Einfügen',
}
