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
  [
    'cannot be laid under this drill, whose ground lies nowhere on Earth yet; give its site.origin first',
    'lässt sich nicht unter diese Übung legen, deren Gelände noch nirgends auf der Erde liegt; zuerst dessen site.origin angeben',
  ],
  [
    'the ground lies nowhere on Earth yet (0, 0); give its latitude_deg and longitude_deg, without them its places have no coordinates',
    'das Gelände liegt noch nirgends auf der Erde (0, 0); latitude_deg und longitude_deg angeben, ohne sie haben seine Orte keine Koordinaten',
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
  [
    'does not tell its coordinate system; name it, such as EPSG:32633, or say metres of the site',
    'sagt nicht, in welchem Koordinatensystem es ist; angeben, etwa EPSG:32633, oder Meter des Plans wählen',
  ],
  [
    'does not cover the site, which lies at ({x}, {y}) in its system; it runs from ({west}, {south}) to ({east}, {north})',
    'deckt die Fläche nicht ab, die in seinem System bei ({x}, {y}) liegt; es reicht von ({west}, {south}) bis ({east}, {north})',
  ],
  [
    'does not cover the site: {missing} of {all} places lie outside or in a gap; it runs from ({west}, {south}) to ({east}, {north}) m of the site frame',
    'deckt die Fläche nicht ab: {missing} von {all} Stellen liegen außerhalb oder in einer Lücke; es reicht von ({west}, {south}) bis ({east}, {north}) m im Plan',
  ],
  ["the system '{crs}' is not known without help: {help}", 'das System «{crs}» ist so nicht bekannt: {help}'],
  ["'{crs}' is no coordinate system; name it like EPSG:32633", '«{crs}» ist kein Koordinatensystem; angeben wie EPSG:32633'],
  ['is larger than {most} MB; cut it to a few kilometres round the site', 'ist größer als {most} MB; auf einige Kilometer um die Fläche zuschneiden'],
  ['is empty', 'ist leer'],
  ['holds no Polygon; draw the ground as an area', 'enthält keine Fläche; das Gelände als Fläche (Polygon) zeichnen'],
  ['holds {n} polygons; keep the one that is searched', 'enthält {n} Flächen; nur die abzusuchende behalten'],
  ['holds {what}; keep the one that runs round the ground', 'enthält {what}; nur die Linie um das Gelände behalten'],
  ['no track or route', 'keinen Track und keine Route'],
  ['must have at least 3 corners', 'braucht mindestens 3 Ecken'],
  ['has {n} points; a boundary needs at least 3 corners', 'hat {n} Punkte; eine Grenze braucht mindestens 3 Ecken'],
  ['the ground is {size} km wide; a drill\'s is at most {most} m', 'das Gelände ist {size} km breit; bei einer Übung höchstens {most} m'],
  ['is not well-formed XML: {why}', 'ist kein gültiges XML: {why}'],
  ["is XML but not GPX: its first element is not 'gpx'", 'ist XML, aber kein GPX'],
  ['({x}, {y}) lies outside the boundary; positions are metres east and north', '({x}, {y}) liegt außerhalb der Grenze'],
  ['({x}, {y}) lies in {hole}, which is not searched', '({x}, {y}) liegt in {hole}, das ausgelassen ist'],
  [
    'crosses or touches itself near ({x}, {y}); give the corners in order round the ground',
    'kreuzt oder berührt sich selbst bei ({x}, {y}); die Ecken der Reihe nach rund ums Gelände setzen',
  ],
  ['crosses or touches itself; give the corners in order round the ground', 'kreuzt oder berührt sich selbst; die Ecken der Reihe nach rund ums Gelände setzen'],
  ['encloses less than 1 m2', 'umschließt weniger als 1 m²'],
  ['must lie inside the boundary', 'muss innerhalb der Grenze liegen'],
  ['overlaps {other}; join them into one', 'überlappt {other}; zu einer verbinden'],
  ['leave no ground to search', 'lassen nichts zum Absuchen übrig'],
  ["'{name}' stands twice; give each its own", '«{name}» kommt zweimal vor; verschiedene wählen'],
  ['must be shorter than period_s', 'der Puls muss kürzer als die Periode sein'],
]
