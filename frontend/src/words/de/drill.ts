import type { Words } from '..'
import type { drill as english } from '../en/drill'

export const drill: Words<typeof english> = {
  'drill.name': 'Name der Übung',
  'drill.parts': 'Teile der Übung',
  'drill.next': 'Weiter: {title}',
  'drill.plan':
    'Plan der Übung. Pfeiltasten verschieben den Plan, Plus und Minus zoomen, 0 zeigt alles. Tab führt zu dem, was darauf liegt; Pfeiltasten verschieben es.',
  'drill.put': 'Gesetzt bei {east} m Ost, {north} m Nord.',
  'drill.nowAt': '{what}: jetzt bei {east} m Ost, {north} m Nord.',
  'drill.pick': 'Auf eine Stelle im Plan zeigen: hier steht dann, was dort bekannt ist.',
  'drill.at': '{east} {ew}, {north} {ns} vom Nullpunkt',
  'drill.leaveTool': 'Abbrechen',
  'drill.takeBack': 'Letzte zurücknehmen',
  'drill.rename': 'anderer Name',
  'fault.place': 'Ort',
  'drill.between': 'Eine Zahl von {low} bis {high}.',
}
