import { expect, it } from 'vitest'

import { mixed, shownMoment, typedMoment } from './moments'
import { daysOfCourses, fittingDay } from './course_days'
import { mainSpan, offsetOf } from './offsets'
import { readShift, shownShift } from './shifts'
import { splitName, splitOf } from './split_names'
import { fromLocalField, localField, minutesSeconds, onDayOf, readTyped, timeOfDay, zoneName } from './times'

const HELD = '2026-02-14T09:30:00Z'

it('reads what people type as a time after the alarm or of the day', () => {
  expect(readTyped('4:20')).toEqual({ since_s: 260 })
  expect(readTyped(' 75:10 ')).toEqual({ since_s: 4510 })
  expect(readTyped('−0:30')).toEqual({ since_s: -30 })
  expect(readTyped('12,5')).toEqual({ since_s: 12.5 })
  expect(readTyped('10:34:20')).toEqual({ clock_s: 38060 })
  for (const wrong of ['', 'soon', '4:75', '25:00:00', '1:2:3:4', '-1:00:00', '4:', 'NaN']) expect(readTyped(wrong), wrong).toBeNull()
})

it('shows minutes and seconds that read back as the same', () => {
  for (const seconds of [0, 59, 60, 260, 4510, -30]) {
    expect(readTyped(minutesSeconds(seconds))).toEqual({ since_s: seconds })
  }
})

it('puts a time of day on the day of the run, where the reader is', () => {
  const unix_s = onDayOf(HELD, 38060)
  expect(timeOfDay(unix_s)).toBe('10:34:20')
  expect(new Date(unix_s * 1000).toDateString()).toBe(new Date(HELD).toDateString())
  expect(fromLocalField(localField(HELD))).toBe('2026-02-14T09:30:00.000Z')
  expect(fromLocalField('never')).toBeNull()
})

it('takes times of day in the zone of the ground, also across a change of clocks', () => {
  const unix_s = onDayOf(HELD, 38060, 'Europe/Oslo')
  expect(unix_s).toBe(Date.UTC(2026, 1, 14, 9, 34, 20) / 1000)
  expect([timeOfDay(unix_s, 'Europe/Oslo'), timeOfDay(unix_s, 'America/Vancouver')]).toEqual(['10:34:20', '01:34:20'])
  expect(localField(HELD, 'Europe/Oslo')).toBe('2026-02-14T10:30')
  expect(fromLocalField('2026-02-14T10:30', 'Europe/Oslo')).toBe('2026-02-14T09:30:00.000Z')
  expect(fromLocalField('2026-03-29T12:00', 'Europe/Oslo')).toBe('2026-03-29T10:00:00.000Z')
  expect(onDayOf('2026-03-29T10:00:00Z', 3600, 'Europe/Oslo')).toBe(Date.UTC(2026, 2, 29, 0) / 1000)
  // In Vancouver it is still the evening before.
  expect(onDayOf('2026-02-14T03:00:00Z', 0, 'America/Vancouver')).toBe(Date.UTC(2026, 1, 13, 8) / 1000)
  expect([zoneName(HELD, 'Europe/Oslo'), zoneName('never')]).toEqual(['CET', ''])
})

it('keeps the clock of a row that tells the time of day', () => {
  const alarm = 1771061400
  const absolute = { time_unix_s: alarm + 60, since_alarm_s: null }
  expect(shownMoment(absolute, alarm)).toBe('1:00')
  expect(typedMoment('2:00', absolute, alarm, HELD)).toEqual({ time_unix_s: alarm + 120, since_alarm_s: null })
  expect(typedMoment('2:00', null, alarm, HELD)).toEqual({ time_unix_s: null, since_alarm_s: 120 })
  expect(typedMoment('later', null, alarm, HELD)).toBeNull()
  const rows = [absolute, { time_unix_s: null, since_alarm_s: 5 }]
  expect([mixed(rows, null), mixed(rows, alarm)]).toEqual([true, false])
})

it('reads and shows clock shifts', () => {
  expect([readShift('+0:30'), readShift('−60:00'), readShift('1:00:00'), readShift('90')]).toEqual([30, -3600, 3600, 90])
  expect([readShift(''), readShift('0:00'), readShift('an hour')]).toEqual([null, null, undefined])
  expect(['−3600 s', '-3600', '−1 h', '-1 h 0 min', '-60 min', '+1 h 30 min', '2 days', '-1 Tag'].map(readShift)).toEqual([-3600, -3600, -3600, -3600, -3600, 5400, 172800, -86400])
  expect(['−1 heure', '2 jours', '-1 ora', '3 giorni', '90 secondes', '10 minuti'].map(readShift)).toEqual([-3600, 172800, -3600, 259200, 90, 600])
  for (const shift of [30, -3600, 90, 5999, 6000, -86_400, 90_065]) expect(readShift(shownShift(shift))).toBe(shift)
  expect([-3600, 86_400, -90_065].map(shownShift)).toEqual(['−60:00', '+24:00:00', '−25:01:05'])
})

it('knows splits by their names, and keeps other words', () => {
  expect(splitOf('Probe strike')).toBe('probe_strike')
  expect(splitOf('airway_clear')).toBe('airway_clear')
  expect(splitOf(' shovels out ')).toBe('shovels out')
  expect(splitName('probe_strike')).toBe('probe strike')
})

it('tells how far a clock is off where it has no time in common with the run', () => {
  const run = { from_s: 36_000, to_s: 37_200 }
  const moved = (by_s: number): { from_s: number; to_s: number } => ({ from_s: run.from_s + by_s + 40, to_s: run.to_s + by_s - 30 })
  expect([3600, -86_400, 7200, 0, 300].map((by_s) => offsetOf(moved(by_s), run))).toEqual([-3600, 86_400, -7200, null, null])
  // Somebody recorded ten minutes before the alarm: the clock is off by an hour all the same, not by 45 min.
  expect(offsetOf({ from_s: run.from_s + 3000, to_s: run.to_s + 3600 }, run)).toBe(-3600)
  expect(offsetOf({ from_s: run.from_s + 85_200, to_s: run.to_s + 86_400 }, run)).toBe(-86_400)
  expect(offsetOf(run, null)).toBeNull()
  expect(mainSpan([run, moved(30), moved(-86_400)])).toEqual({ from_s: 36_000, to_s: 37_200 })
})

it('offers the day of a course that fits, where there is just one', () => {
  const courses = daysOfCourses([{ id: 'a', name: 'A' }, { id: 'b', name: 'B' }], [
    { id: '2', course_id: 'b', date: '2026-02-15' },
    { id: '1', course_id: 'b', date: '2026-02-14' },
    { id: '3', course_id: 'a', date: '2026-02-14' },
  ])
  expect(courses.map(({ name, days }) => [name, days.map(({ id }) => id)])).toEqual([['B', ['1', '2']], ['A', ['3']]])
  expect([fittingDay(courses, '2026-02-15'), fittingDay(courses, '2026-02-14'), fittingDay(courses, '2026-02-16')]).toEqual(['2', null, null])
})
