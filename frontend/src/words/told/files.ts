import type { Told } from '.'

/** Why a file, a form or a figure cannot be used. */
export const files: Told = [
  ['the file is empty; send the recording itself', 'Die Datei ist leer; die Aufzeichnung selbst wählen'],
  ['the file is larger than {n} MB', 'Die Datei ist größer als {n} MB'],
  ['holds {n} rows; at most {most} are kept for a run', 'enthält {n} Zeilen; höchstens {most} werden für einen Durchgang behalten'],

  // Forms and figures
  ['must name its zone, such as {example}', 'muss die Zeitzone nennen, etwa {example}'],
  ['must be a real moment, such as {example}', 'muss ein wirklicher Zeitpunkt sein, etwa {example}'],
  ['must be a moment from 1970 to 2099, such as {example}', 'muss ein Zeitpunkt von 1970 bis 2099 sein, etwa {example}'],
  ['must be a date from 1970 to 2099, such as {example}', 'muss ein Datum von 1970 bis 2099 sein, etwa {example}'],
  ['must be a real date, such as {example}', 'muss ein wirkliches Datum sein, etwa {example}'],
  ["'{one}' or '{other}'", '„{one}“ oder „{other}“'],
  ['a number', 'eine Zahl'],
  ['a whole number', 'eine ganze Zahl'],
  ['true or false', 'true oder false'],
  ['an object', 'ein Objekt'],
  ['a list', 'eine Liste'],
  ['finite', 'endlich'],
  ['above {n}', 'über {n}'],
  ['below {n}', 'unter {n}'],
  ['at least {n}', 'mindestens {n}'],
  ['at most {n}', 'höchstens {n}'],
  ["'{name}' stands twice", '„{name}“ steht zweimal da'],

  // A drill
  ['must be longer than {low} and shorter than {high}', 'muss länger als {low} und kürzer als {high} sein'],

  // Ground
  ['its coordinate system cannot be read; save it again in a system such as {example}', 'Das Koordinatensystem ist nicht lesbar; in einem System wie {example} neu speichern'],

  // Tracks
  ['its recordings lie more than a day apart; keep those of this run', 'Die Aufzeichnungen liegen mehr als einen Tag auseinander; die dieses Durchgangs behalten'],
  ['none of its points has a latitude within 90 degrees and a longitude', 'kein Punkt hat eine Breite bis 90 Grad und eine Länge'],
  ["it is told to be of '{name}', whom this drill does not have", 'gilt als von „{name}“, und diese Person kennt die Übung nicht'],
  ["its name is nobody's; call it after one of {who}", 'ihr Name gehört niemandem; nach einer von diesen Personen benennen: {who}'],
  ["its name is nobody's, and so are its tracks {names}; call it after one of {who}", 'ihr Name gehört niemandem und die Aufzeichnungen {names} auch nicht; nach einer von diesen Personen benennen: {who}'],
  ['give either whose all of the file is, or whose each of its tracks', 'angeben, wem die ganze Datei gehört oder wem jede Aufzeichnung darin'],

  // Splits
  ['is longer than 64 letters; put the rest into its note', 'ist länger als 64 Zeichen; den Rest in die Notiz schreiben'],
  ['is longer than 200 letters', 'ist länger als 200 Zeichen'],
  ['holds a line break or another sign that does not print', 'enthält einen Zeilenumbruch oder ein anderes nicht druckbares Zeichen'],
  ['give either time_unix_s or since_alarm_s', 'Uhrzeit oder Zeit seit dem Alarm angeben'],
  ['give time_unix_s or since_alarm_s, not both', 'Uhrzeit oder Zeit seit dem Alarm angeben, nicht beides'],
  ["the drill has no {what} '{name}'; it has: {known}", 'Die Übung kennt „{name}“ ({what}) nicht; sie kennt: {known}'],
  ['searcher', 'suchende Person'],
  ['burial', 'Verschüttung'],

  // The day file of the clock
  ['a run has at most {n} items; nothing was kept', 'Ein Durchgang hat höchstens {n} Einträge; nichts wurde behalten'],
  ['a group check has at most {n} items; nothing was kept', 'Ein Gruppencheck hat höchstens {n} Einträge; nichts wurde behalten'],
  ['another item with the id {id} is here already; that one is kept', 'ein anderer Eintrag mit der Kennung {id} ist schon hier; dieser bleibt'],
  ['as hidden: {fault}', 'wie versteckt: {fault}'],
  ['give either run_id or check_id', 'entweder run_id oder check_id angeben'],
  ['group check', 'Gruppencheck'],
  ['hidden set', 'verstecktes Gerät'],
  ['item of a day', 'Eintrag eines Tages'],
  ['holds nothing that happened: open it in the clock on the phone', 'enthält nichts, was geschehen ist: in der Uhr auf dem Telefon öffnen'],
  ['the group check of this file is deleted; bring it back first', 'Der Gruppencheck dieser Datei ist gelöscht; ihn zuerst zurückholen'],
  ["the run '{name}' is deleted; bring it back first", 'Der Durchgang „{name}“ ist gelöscht; ihn zuerst zurückholen'],
  ['told.kind: must be one of {kinds}', 'told.kind: muss eines davon sein: {kinds}'],
  ['made_by.model_version: must be the one of the document', 'made_by.model_version: muss die des Dokuments sein'],
  ['line {n}', 'Zeile {n}'],
  ['day file', 'Tagesdatei'],
  ['line runs {way}', 'Linie verläuft {way}'],
  ['there are no such words; load the page again', 'solche Wörter gibt es nicht; die Seite neu laden'],
  ['is larger than {n} MB; cut it to the run', 'ist größer als {n} MB; auf den Durchgang kürzen'],
  ['must be at least {n}, not {found}', 'muss mindestens {n} sein, nicht {found}'],
  ['must be {what}', 'muss {what} sein'],
]
