import type { Words } from '..'
import type { drop as english } from '../en/drop'

/** Dateien, die auf einer Seite abgelegt werden. */
export const drop: Words<typeof english> = {
  'drop.anywhere': 'Irgendwo auf dieser Seite ablegen',
  'drop.looking': 'Die Datei wird angesehen ...',
  'drop.title': 'Die abgelegte Datei',
  'drop.drill': 'Übungsdatei (drill.json): wählen oder hier ablegen',
  'drop.drillTitle': 'Eine Übungsdatei, die es schon gibt',
  'drop.drillWhat': 'Wie der Befehl coldfield new sie schreibt oder jemand sie geschickt hat. Sie wird hier zu einer neuen Übung; die Datei bleibt, wie sie ist.',
  'drop.brought': '{name} ist jetzt eine Übung hier, aus {file}.',
  'drop.failed': '{file} kann keine Übung werden. Nichts davon wurde behalten:',
  'drop.unread': '{file} lässt sich nicht lesen. Ist es ein Ordner, ihn öffnen und die Dateien darin ablegen.',
  'drop.empty': '{file} ist leer. Es wurde nichts übernommen.',
  'drop.busy': 'An der letzten Datei wird noch gearbeitet. {file} danach noch einmal ablegen.',
  'drop.oneOnly': 'Hier geht eine Datei auf einmal: {file} wurde übernommen, {others} nicht.',
  'drop.unknown': '{file} ist nichts, was Coldfield nimmt. Es nimmt Übungsdateien (JSON), Aufzeichnungen (GPX, FIT, CSV, Zip), Zwischenzeiten (CSV), ein Gelände (GeoJSON, GPX), Höhenmodelle (ASCII, GeoTIFF) und Einträge (Zip).',
  'drop.failedDay': '{file} lässt sich nicht als Datei der Uhr lesen. Nichts davon wurde behalten:',
  'drop.goes.day': '{file} kommt von der Uhr auf einem Telefon. Die Datei gehört zu ihrem Durchgang.',
  'drop.to.day': 'Zu den Durchgängen',
  'drop.goes.drill': '{file} ist eine Übungsdatei. Sie gehört zu den Übungen.',
  'drop.to.drill': 'Neue Übung',
  'drop.goes.records': '{file} enthält Einträge von Coldfield. Die Datei gehört zu den Übungen, unter „Hereinholen, mitnehmen“.',
  'drop.to.records': 'Hereinholen, mitnehmen',
  'drop.goes.splits': '{file} enthält Zwischenzeiten. Die Datei gehört zu einem Durchgang: ihn öffnen und sie dort ablegen.',
  'drop.to.splits': 'Zu den Durchgängen',
  'drop.goes.track': '{file} enthält eine Aufzeichnung. Die Datei gehört zu einem Durchgang: ihn öffnen und sie dort ablegen.',
  'drop.to.track': 'Zu den Durchgängen',
  'drop.goes.ground': '{file} enthält ein Gelände. Die Datei gehört zu einer Übung: sie öffnen und die Datei dort ablegen oder damit eine neue beginnen.',
  'drop.to.ground': 'Neue Übung',
  'drop.goes.elevation': '{file} ist ein Höhenmodell. Die Datei gehört zu einer Übung: sie öffnen und die Datei dort ablegen.',
  'drop.to.elevation': 'Zu den Übungen',
}
