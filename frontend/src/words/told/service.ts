import type { Told } from '.'

/** What the service says of records, requests and its own troubles. */
export const service: Told = [
  ['It takes longer than a few seconds and became a job.', 'Es dauert länger als ein paar Sekunden und läuft im Hintergrund weiter.'],

  ['to change a track, name the version you saw', 'zum Ändern einer Aufzeichnung die gesehene Fassung nennen'],

  // An archive of records

  // What free JSON and a kept debrief may hold
]
