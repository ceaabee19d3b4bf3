import { expect, it } from 'vitest'

import { fileName } from './save_file'

it('names a file after what it is of, in letters that any system takes, and keeps what is in it', () => {
  expect(fileName('Run 2: "fan"/left', 'gpx', 'tracks')).toBe('Run 2 fan left tracks.gpx')
  expect(fileName('x'.repeat(200), 'pdf', 'debrief ines')).toMatch(/^x{68} debrief ines\.pdf$/)
  expect([fileName('', 'zip'), fileName('..', 'csv', 'phases')]).toEqual(['coldfield.zip', 'phases.csv'])
})
