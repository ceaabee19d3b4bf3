import type { Words } from '..'
import type { figures as english } from '../en/figures'

export const figures: Words<typeof english> = {
  'time.s': '{s} s',
  'time.min': '{m} min',
  'time.minS': '{m} min {s} s',
  'time.h': '{h} h {m} min',
  'unit.m': '{n} m',
  'unit.m2': '{n} m²',
  'unit.speed': '{n} m/s',
  'unit.percent': '{n} %',
  'unit.times': '{n}-mal',
  'unit.deg': '{n}°',
  'none.value': 'nicht bekannt',
  'plan.pan': 'Blatt verschieben',
  'plan.pan.north': 'Weiter nach Norden',
  'plan.pan.west': 'Weiter nach Westen',
  'plan.pan.south': 'Weiter nach Süden',
  'plan.pan.east': 'Weiter nach Osten',
  'plan.things': 'Was im Plan liegt',
}
