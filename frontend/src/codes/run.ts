/** A run in codes: its line of a day file without default values (coldfield.files.run_code). */
import { bareRun, type Burial, type Person, type Run } from '../clock/items'

const BURIAL: Omit<Burial, 'id'> = { position_m: null, depth_m: null, azimuth_deg: null, tilt_deg: null, has_set: true, set: null }
const PERSON: Omit<Person, 'id' | 'name'> = { set: null }

type Test = (value: unknown) => boolean
type Form<What> = Record<keyof What, Test>

const words: Test = (value) => typeof value === 'string'
const name: Test = (value) => words(value) && value !== ''
const truth: Test = (value) => typeof value === 'boolean'
const number: Test = (value) => typeof value === 'number'
const orNull = (test: Test): Test => (value) => value === null || test(value)
const list = (test: Test): Test => (value) => Array.isArray(value) && value.every(test)
const point: Test = (value) => list(number)(value) && (value as unknown[]).length === 2
const formed = <What>(form: Form<What>): Test => (value) =>
  typeof value === 'object' && value !== null && Object.keys(value).every((key) => key in form) && Object.entries<Test>(form).every(([key, test]) => test((value as Record<string, unknown>)[key]))

const RUN: Form<Run> = {
  line: (value) => value === 'run',
  id: (value) => words(value) && /^[A-Za-z0-9][\w-]{0,63}$/.test(String(value)),
  name: words, prepared: truth, drill_id: orNull(name), drill_version: orNull(number), drill_name: words,
  burials: list(formed<Burial>({ id: name, position_m: orNull(point), depth_m: orNull(number), azimuth_deg: orNull(number), tilt_deg: orNull(number), has_set: truth, set: orNull(name) })),
  anchors: list(formed<Run['anchors'][number]>({ name, position_m: point })),
  boundary_m: orNull(list(point)), entry_m: orNull(point),
  searchers: list(formed<Person>({ id: name, name, set: orNull(name) })),
  own_splits: list(name), agreed_word: words, emergency_number: words, own_cautions: list(name),
  curve: (value) => value === null, picture: (value) => value === null,
}

const whole = <What>(usual: object, told: unknown): What[] | unknown =>
  Array.isArray(told) ? told.map((one: unknown) => (typeof one === 'object' ? { ...usual, ...one } : one)) : told

/** The run; null if the text is not a run. */
export function runFrom(text: string): Run | null {
  try {
    const told = JSON.parse(text) as Partial<Run>
    const run = { ...bareRun(''), ...told }
    const filled = { ...run, burials: whole(BURIAL, run.burials), searchers: whole(PERSON, run.searchers) }
    return formed<Run>(RUN)(filled) ? (filled as Run) : null
  } catch {
    return null
  }
}
