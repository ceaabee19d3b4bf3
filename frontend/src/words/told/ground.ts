import type { Told } from '.'

/** The screen of a site on its elevation grid, files of ground that cannot be used, faults of a drill. */
export const ground: Told = [
  ["the system '{crs}' is not known without help: {help}", 'das System «{crs}» ist so nicht bekannt: {help}'],
  ["'{crs}' is no coordinate system; name it like EPSG:32633", '«{crs}» ist kein Koordinatensystem; angeben wie EPSG:32633'],
  ['is empty', 'ist leer'],
  ['holds no Polygon; draw the ground as an area', 'enthält keine Fläche; das Gelände als Fläche (Polygon) zeichnen'],
  ['holds {n} polygons; keep the one that is searched', 'enthält {n} Flächen; nur die abzusuchende behalten'],
  ['holds {what}; keep the one that runs round the ground', 'enthält {what}; nur die Linie um das Gelände behalten'],
  ['no track or route', 'keinen Track und keine Route'],
  ['must have at least 3 corners', 'braucht mindestens 3 Ecken'],
  ['has {n} points; a boundary needs at least 3 corners', 'hat {n} Punkte; eine Grenze braucht mindestens 3 Ecken'],
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
