import type { Words } from '..'
import type { lying as english } from '../en/lying'

export const lying: Words<typeof english> = {
  'hidden.caution.sacks': 'Nie eine Person vergraben. Gefüllte Säcke vergraben, das Gerät sondenfest gepolstert.',
  'hidden.caution.list': 'Eine benannte Person führt die Liste der versteckten Geräte und bleibt da. Am Schluss werden alle Geräte gezählt und die Löcher gefüllt.',
  'hidden.caution.confirm': 'Vor dem Verstecken bei jedem Gerät prüfen, ob es sendet. Ausrüstung ist im Einsatz, nicht am Körper.',
  'burial.upright': 'senkrecht',
  'burial.level': 'waagrecht, {axis}',
  'axis.0': 'Nord–Süd',
  'axis.1': 'Nordnordost–Südsüdwest',
  'axis.2': 'Nordost–Südwest',
  'axis.3': 'Ostnordost–Westsüdwest',
  'axis.4': 'Ost–West',
  'axis.5': 'Ostsüdost–Westnordwest',
  'axis.6': 'Südost–Nordwest',
  'axis.7': 'Südsüdost–Nordnordwest',
}
