import type { Words } from '..'
import type { how as english } from '../en/how'

export const how: Words<typeof english> = {
  'why.title': 'Woher das kommt',

  'how.findings':
    'Verfahren: Die Minuten sind, was eine Phase über die mittlere Probe dieser Übung hinaus brauchte, ein Weg über die Feldlinie hinaus bei gleichem Tempo, eine Wende über 5 s hinaus, das Doppelte der Zeit in falscher Richtung, oder die Zeit, in der viele bei einer Verschüttung standen. Sie überschneiden sich und lassen sich nicht zusammenzählen.',
  'how.findingsDoubt':
    'Zurückgehalten wird, was seinen Zweifel aus Orten, Uhren und Zwischenzeiten nicht übersteigt. Klar: mehr als das Doppelte des Zweifels; wahrscheinlich: weniger. In Versuchen mit bekannter Wahrheit wurden 3 von 218 Befunden widerlegt (1,4 %, Bereich 0 bis 4 %).',
  'how.phases':
    'Verfahren: Signalsuche, bis der Weg der Richtung folgt, Grobsuche, bis die Anzeige 3 m ist, beides aus der Aufzeichnung und dem dort berechneten Feld; Feinsuche, Sondieren und Graben aus den Zwischenzeiten. Das Tempo ist ohne Stehen.',
  'how.phasesDoubt': '± soll neunzehn von zwanzig Malen halten; es kommt von der Ortsgenauigkeit, der Uhr der Zwischenzeiten und davon, wie Leute abbiegen.',
  'how.phasesSplits':
    'Verfahren: aus den Zwischenzeiten allein. Die Signalsuche endet mit dem ersten Signal; die Grobsuche nach der Anzeige 10 m, wenn man gewöhnlich 3 m abliest; die Feinsuche mit der kleinsten Anzeige; das Sondieren mit dem Treffer; das Graben mit den freien Atemwegen. Eine Zwischenzeit ohne Namen zählt für die Person, die sonst bei der Verschüttung genannt ist.',
  'how.phasesSplitsDoubt': '± umfasst den Weg von 10 m bis 3 m, von Anfängern wie von Könnern, und 5 s vom ersten Signal bis zum Abbiegen: Annahmen. Eine Zwischenzeit ist so genau, wie jemand gedrückt hat.',
  'how.ratio': 'Die Feldlinie ist der kürzere der beiden Wege in der Richtung von dort, wo die Person abbog, auf dem Schnee. Unter 1,15 oder innerhalb der Unsicherheit zur Seite wird nichts daraus geschlossen.',
  'how.approach':
    'Verfahren: das Feld des Geräts, wo es lag, in jeder Sekunde der Aufzeichnung, gegen den Empfänger dieser Person, waagrecht auf Traghöhe. Hörbar: die erste Sekunde über der Schwelle. Neben der Feldlinie: der größte Abstand zwischen Weg und Linie.',
  'how.approachDoubt': '± soll neunzehn von zwanzig Malen halten. Eine Hand, die das Gerät dreht, nasser Boden und andere sendende Geräte sind weggelassen.',
  'how.tracks':
    'Verfahren: Wiederholungen und Sprünge werden ausgelassen und gezählt, der Rest wird geglättet. Die Länge ist auf dem Schnee, ohne Stehen; wie aufgezeichnet ist die Linie durch alle Punkte im Plan, die wandert, wenn jemand steht.',
  'how.accuracy':
    'Ortsgenauigkeit: der Standardfehler eines Orts je Achse, aus der Streuung der Aufzeichnung und einer langsamen Drift von 3 m. Glätten verkleinert sie nicht; vorher und nachher 30 s an einem Fixpunkt stehen schon. Eine Einstellung nach dem, was Satellitenempfänger üblicherweise tun.',
  'how.heard':
    'Verfahren: Sekunden, in denen das Feld am Ort der Person, waagrecht auf Traghöhe, die heutige Schwelle ihres Empfängers erreicht; jedes Gerät für sich.',
  'how.heardDoubt': 'Unsicher am Rand des Hörbaren: Ein Ort, der 5 m daneben liegt, macht dort einige Sekunden aus. Boden und Schnee sind weggelassen.',
  'how.swept':
    'Verfahren: Gelände innerhalb eines halben Streifens vom Weg in der Signalsuche, auf dem Schnee. Grobsuche und Graben zählen nicht. Gezählt in Quadraten von 1 m.',
  'how.gaps': 'Eine Lücke gilt als breiter, wo sie breiter ist, als zwei Aufzeichnungen gegeneinander unsicher sind; als Befund nur, wo fast jede mögliche Lage der Wege sie offen lässt.',
  'how.burials': 'Tiefe und Antenne wie ausgegraben, wo das eingetragen ist, sonst wie geplant. Die Zeiten sind die der Zwischenzeiten, so gut, wie jemand gedrückt hat.',
  'how.bands':
    'Verfahren: diese Übung, wie sie vergraben war, viele Male am Rechner geprobt, mit den Empfängern und dem Können dieser Gruppe; die Zahl der Proben steht in den Anmerkungen. Tempo und Zeiten eines Könnens sind Einstellungen, keine Messungen.',
  'how.yardsticks': 'Zeilen einer Phase haben denselben Maßstab. Eine Vorgabe oder ein früherer Durchgang gilt, wie er eingetragen oder aufgezeichnet ist.',
}
