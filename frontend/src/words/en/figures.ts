/** Figures with their units. */
export const figures = {
  'time.s': '{s} s',
  'time.min': '{m} min',
  'time.minS': '{m} min {s} s',
  'time.h': '{h} h {m} min',
  'unit.m': '{n} m',
  'unit.m2': '{n} m²',
  'unit.speed': '{n} m/s',
  'unit.percent': '{n} %',
  'unit.times': '{n} times',
  'unit.deg': '{n}°',
  'none.value': 'not known',
} as const
