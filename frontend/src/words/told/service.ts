import type { Told } from '.'

/** What the service says of records, requests and its own troubles. */
export const service: Told = [
  ['getting ready: the first start after an installation takes half a minute; ask again', 'wird vorbereitet: Der erste Start nach dem Einrichten dauert eine halbe Minute; noch einmal fragen'],
  ['It takes longer than a few seconds and became a job.', 'Es dauert länger als ein paar Sekunden und läuft im Hintergrund weiter.'],
  ['the rehearsal was cancelled', 'das Durchspielen wurde abgebrochen'],

  ["there is no burial '{id}' in this drill", 'diese Übung hat keine Verschüttung „{id}“'],
  ['no burial {id} with a set in this drill', 'diese Übung hat keine Verschüttung {id} mit Gerät'],
  ['there is another job under this id', 'unter diesem Kürzel läuft schon eine Arbeit'],
  ['to change a track, name the version you saw', 'zum Ändern einer Aufzeichnung die gesehene Fassung nennen'],

  // An archive of records

  // What free JSON and a kept debrief may hold
]
