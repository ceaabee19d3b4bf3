import { expect, it } from 'vitest'

import { type Message, verbatim } from '../../words'
import { ofFile } from '../notes'

const files = ['ines.gpx', 'Pia – watch.fit', 'no ending']
const about = (...place: string[]): Message => ({ code: 'fault.one_point', values: {}, place })

it('tells the notes about a file by the place they have', () => {
  expect(ofFile(about('ines.gpx'), files)).toBe(true)
  expect(ofFile(about('Pia – watch.fit'), files)).toBe(true)
  expect(ofFile(about('no ending', 'line 7'), files)).toBe(true)
  expect(ofFile(about(), files)).toBe(false)
  expect(ofFile(about('splits'), files)).toBe(false)
  expect(ofFile(about('ines.gpx'), [])).toBe(false)
})

it('tells those of an earlier debrief by the name they begin with', () => {
  expect(ofFile(verbatim('ines.gpx: holds one point; a track needs at least two'), files)).toBe(true)
  expect(ofFile(verbatim('recorded elevations are not used'), files)).toBe(false)
  expect(ofFile(verbatim('e.g: a note of its own'), files)).toBe(false)
})
