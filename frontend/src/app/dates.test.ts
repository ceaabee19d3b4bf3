import { expect, it } from 'vitest'

import { dateText, dateWords, daysLater, readDate, readMoment } from './dates'

const LOCALES = ['en-GB', 'en-US', 'de', 'de-CH', 'fr', 'it', 'sv', 'ja']

it.each(LOCALES)('reads what it wrote, and ISO 8601, in %s', (locale) => {
  for (const iso of ['2026-02-03', '2026-12-31', '2028-02-29', '1999-11-05']) {
    expect(readDate(dateText(iso, locale), locale)).toBe(iso)
    expect(readDate(iso, locale)).toBe(iso)
  }
  expect(readMoment(dateText('2026-02-03T09:30', locale), locale)).toBe('2026-02-03T09:30')
  expect(readMoment('2026-02-03T23:05', locale)).toBe('2026-02-03T23:05')
})

it('writes and reads in the order of the language', () => {
  expect([dateText('2026-02-14', 'en-GB'), dateText('2026-02-14', 'en-US'), dateText('2026-02-14', 'de')]).toEqual(['14/02/2026', '02/14/2026', '14.02.2026'])
  expect([readDate('3.2.26', 'de'), readDate('3/2/26', 'en-GB'), readDate('2/3/26', 'en-US')]).toEqual(Array(3).fill('2026-02-03'))
  expect([readDate('14 Feb 2026', 'en-GB'), readDate('14. Februar 2026', 'de'), readDate('14 février 2026', 'fr'), readDate('14 fevr 2026', 'fr'), readDate('14 febbraio 2026', 'it')]).toEqual(Array(5).fill('2026-02-14'))
})

it('refuses what is no date', () => {
  for (const text of ['', 'tomorrow', '31/02/2026', '29/02/2027', '14/02', '14/13/2026', '1/1/1969', '1/1/2100', '14 Ju 2026', '14/02/2026 09:30', '1,2,2026']) expect(readDate(text, 'en-GB')).toBeNull()
  for (const text of ['14/02/2026', '14/02/2026 24:00', '14/02/2026 9:60', '14/02/2026 13:00 pm']) expect(readMoment(text, 'en-GB')).toBeNull()
  expect(readMoment('2/14/2026, 1:05 PM', 'en-US')).toBe('2026-02-14T13:05')
})

it('steps by days over months, and tells a date in words', () => {
  expect([daysLater('2026-02-28', 1), daysLater('2026-01-01', -1), daysLater('2026-02-28T09:30', 1)]).toEqual(['2026-03-01', '2025-12-31', '2026-03-01T09:30'])
  expect(dateWords('2026-02-14', 'en-GB')).toMatch(/Sat.*14 February 2026/)
  expect(dateWords('2026-02-14T09:30', 'de')).toMatch(/Sa.*14\. Februar 2026, 09:30/)
})
