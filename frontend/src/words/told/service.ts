import type { Told } from '.'

/** What the service says of records, requests and its own troubles. */
export const service: Told = [
  ['It takes longer than a few seconds and became a job.', 'Es dauert länger als ein paar Sekunden und läuft im Hintergrund weiter.'],


  // An archive of records

  // What free JSON and a kept debrief may hold
]
