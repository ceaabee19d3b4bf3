import type { Told } from '.'

/** What forgetting a person tells, and why a record was refused. */
export const records: Told = [
  ['tracks, with their files', 'Tracks, mit ihren Dateien'],
  ['debriefs made from them; make them anew from what is left', 'Auswertungen daraus; aus dem Rest neu erstellen'],
  ['drill versions', 'Fassungen von Übungen'],
  ['runs', 'Durchgänge'],
  ['pieces of kit, without owner now', 'Materialstücke, jetzt ohne Besitzer'],
  ['notes and names that mentioned the person', 'Notizen und Namen, die die Person erwähnten'],
  ['entries in courses', 'Einträge in Kursen'],
  ['entry of the person', 'Eintrag der Person'],
  ['track {id}: its file mentions this name', 'Track {id}: Die Datei erwähnt diesen Namen'],
  ['debrief {id}: mentions this name', 'Auswertung {id}: erwähnt diesen Namen'],
  ["drill '{name}': the person was '{who}' there", 'Übung «{name}»: Die Person hieß dort «{who}»'],
  ["{table} {id}: '{column}' mentions this name", '{table} {id}: «{column}» erwähnt diesen Namen'],
  ['name: must not be empty', 'Name: darf nicht leer sein'],
  ['label: must not be empty', 'Inventarnummer: darf nicht leer sein'],
  ['name: is blank, or holds characters that cannot be used', 'Name: ist leer oder enthält Zeichen, die nicht gehen'],
  ['label: is blank, or holds characters that cannot be used', 'Inventarnummer: ist leer oder enthält Zeichen, die nicht gehen'],
  [
    'there are records here already, and the demo is not mixed with them; see it in a folder of its own with: coldfield demo',
    'Hier gibt es schon Daten, und das Beispiel wird nicht darunter gemischt; in einem eigenen Ordner ansehen mit: coldfield demo',
  ],
  ['there are records here by now; the demo was not added to them', 'Hier gibt es inzwischen Daten; das Beispiel wurde nicht dazugelegt'],
  ['there is no such job; jobs end with the service, start it again', 'Diese Arbeit gibt es nicht mehr; sie endet mit dem Dienst. Noch einmal beginnen'],
  ['holds no polygon; draw the ground as one polygon', 'enthält keine Fläche; das Gelände als eine Fläche zeichnen'],
  ['what phones told that mentioned the person', 'Einträge von Telefonen, die die Person erwähnten'],
]
