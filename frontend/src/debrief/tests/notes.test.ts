import { expect, it } from 'vitest'

import { ofFile } from '../notes'

it('tells the notes about a file by the names the document gives', () => {
  const files = ['ines.gpx', 'Pia – watch.fit', 'no ending']
  expect(ofFile('ines.gpx: holds one point; a track needs at least two', files)).toBe(true)
  expect(ofFile('Pia – watch.fit: is empty', files)).toBe(true)
  expect(ofFile('no ending: is none of GPX, FIT, CSV (named .csv) or zip', files)).toBe(true)
  expect(ofFile('recorded elevations are not used', files)).toBe(false)
  expect(ofFile('e.g: a note of its own', files)).toBe(false)
  expect(ofFile('ines.gpx: holds one point', [])).toBe(false)
})
