import type { Told } from '.'

/** What forgetting a person tells, and why a record was refused. */
export const records: Told = [
  [
    'there are records here already, and the demo is not mixed with them; see it in a folder of its own with: coldfield demo',
    'Hier gibt es schon Daten, und das Beispiel wird nicht darunter gemischt; in einem eigenen Ordner ansehen mit: coldfield demo',
  ],
  ['there are records here by now; the demo was not added to them', 'Hier gibt es inzwischen Daten; das Beispiel wurde nicht dazugelegt'],
  ['there is no such job; jobs end with the service, start it again', 'Diese Arbeit gibt es nicht mehr; sie endet mit dem Dienst. Noch einmal beginnen'],
]
