import type { Told } from '.'

/** The screen of a site on its elevation grid, files of ground that cannot be used, faults of a drill. */
export const ground: Told = [
  ['north', 'Norden'],
  ['north-east', 'Nordosten'],
  ['east', 'Osten'],
  ['south-east', 'Südosten'],
  ['south', 'Süden'],
  ['south-west', 'Südwesten'],
  ['west', 'Westen'],
  ['north-west', 'Nordwesten'],
  [
    'steep ground to the {wind} stands above the site at up to {angle} degrees ({rise} m higher, {away} m away; {cells} cells)',
    'steiles Gelände gegen {wind} liegt bis zu {angle} Grad über der Fläche ({rise} m höher, {away} m entfernt; {cells} Zellen)',
  ],
  [
    'the site itself is up to {slope} degrees steep on this grid: as steep as ground where slabs start',
    'die Fläche selbst ist in diesem Höhenmodell bis zu {slope} Grad steil: so steil wie Gelände, in dem Schneebretter anreißen',
  ],
  ['steep ground above the site reaches the edge of the grid to the {winds}', 'steiles Gelände über der Fläche reicht bis zum Rand des Höhenmodells, gegen {winds}'],
  ['the grid ends before a ridge to the {winds}, {away} m from the site', 'das Höhenmodell endet vor einem Grat, gegen {winds}, {away} m von der Fläche'],
  ['the grid ends in a gap to the {winds}, {away} m from the site', 'das Höhenmodell endet in einer Lücke, gegen {winds}, {away} m von der Fläche'],
  [
    'cells of {cell} m are too coarse: steep ground can hide in them (at most 30 m)',
    'Zellen von {cell} m sind zu grob: steiles Gelände kann darin verschwinden (höchstens 30 m)',
  ],
  [
    'A screen, never a clearance: the local bulletin, local rules and a qualified leader decide.',
    'Ein Hinweis, nie eine Freigabe: Lawinenbulletin, örtliche Regeln und eine ausgebildete Leitung entscheiden.',
  ],
  [
    'Left out: wind, forest, curves of the valley, glide cracks, cornices, what the grid does not show.',
    'Nicht berücksichtigt: Wind, Wald, Biegungen des Tals, Gleitschneerisse, Wechten und was das Höhenmodell nicht zeigt.',
  ],
]
