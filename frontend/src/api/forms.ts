/** The kinds of records a person fills in, and which fields of a stored one are theirs. */
import type * as schema from './schema'

export interface Forms {
  people: schema.SchemaPerson
  kit: schema.SchemaKit
  sites: schema.SchemaSite
  courses: schema.SchemaCourse
  days: schema.SchemaCourseDay
  participants: schema.SchemaParticipant
  drills: schema.SchemaDrillRecord
  runs: schema.SchemaRun
  splits: schema.SchemaSplitRecord
  observations: schema.SchemaObservation
}
export type Kind = keyof Forms

type Fields = { readonly [K in Kind]: readonly (keyof Forms[K])[] }

export const FIELDS: Fields = {
  people: ['name', 'contact', 'notes'],
  kit: ['kind', 'label', 'owner_id', 'state', 'notes', 'figures'],
  sites: ['name', 'notes', 'document'],
  courses: ['name', 'notes'],
  days: ['course_id', 'date', 'site_id', 'notes'],
  participants: ['course_id', 'person_id', 'role'],
  drills: ['document', 'site_id', 'notes', 'checks'],
  runs: ['drill_id', 'drill_version', 'day_id', 'name', 'held_utc', 'simulated', 'notes', 'as_buried', 'searchers', 'splits_shift_s', 'standards'],
  splits: ['run_id', 'split', 'searcher', 'burial', 'time_unix_s', 'since_alarm_s', 'note'],
  observations: ['run_id', 'about', 'seen', 'searcher', 'burial', 'time_unix_s', 'since_alarm_s', 'note'],
}

/** The form inside a stored record. */
export function formOf<K extends Kind>(kind: K, stored: object): Forms[K] {
  const all = stored as Record<string, unknown>
  const mine = FIELDS[kind].filter((field) => all[field as string] !== undefined)
  return Object.fromEntries(mine.map((field) => [field, all[field as string]])) as unknown as Forms[K]
}
