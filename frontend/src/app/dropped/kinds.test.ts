/** Recognise dropped files by their content. */
import { readdirSync, readFileSync } from 'node:fs'
import { deflateRawSync } from 'node:zlib'

import { describe, expect, it, vi } from 'vitest'

import { en } from '../../words/disk'
import { KINDS, kindsOf } from './kinds'

// Importing a file needs the address bar of a browser; recognising it does not.
vi.mock('./bringing', () => ({ bringDays: () => Promise.resolve(), bringDrills: () => Promise.resolve() }))

const names = async (name: string, ...content: BlobPart[]): Promise<string[]> => (await kindsOf(new File(content, name))).map((kind) => kind.name)

const TRACKS = new URL('../../../../tests/data/tracks/', import.meta.url)
const track = (name: string): Uint8Array<ArrayBuffer> => new Uint8Array(readFileSync(new URL(name, TRACKS)))

/** The end of a zip of empty members. */
function zip(...members: string[]): Uint8Array<ArrayBuffer> {
  const words = new TextEncoder()
  const parts = members.map((name) => {
    const header = new Uint8Array(46)
    header.set([0x50, 0x4b, 1, 2])
    header[28] = name.length
    return [...header, ...words.encode(name)]
  })
  return new Uint8Array([0x50, 0x4b, 3, 4, ...deflateRawSync(''), ...parts.flat(), 0x50, 0x4b, 5, 6])
}

describe('a dropped file', () => {
  it('is a drill file by what it says of itself, whatever it is called', async () => {
    const text = readFileSync(new URL('../../../../src/coldfield/app/demo/drill.json', import.meta.url), 'utf8')
    expect(await names('drill.json', text)).toEqual(['drill'])
    expect(await names('copy (2).txt', '\ufeff', text)).toEqual(['drill'])
    expect(await names('older.json', '{"format": "coldfield-drill/9"}')).toEqual(['drill'])
    // A file that is cut off or lacks its format is still recognised; the reader says what is wrong.
    expect(await names('cut.json', text.slice(0, 400))).toEqual(['drill'])
    expect(await names('bare.json', '{"site": {}, "burials": []}')).toEqual(['drill'])
  })

  it('is a file of the clock, whole or cut short, whatever it is called', async () => {
    const line = '0123456789abcdef {"line":"head","format":"coldfield-day/1","made_by":"x","made_ms":1}\n'
    expect(await names('day.coldfield-day.txt', line)).toEqual(['day'])
    expect(await names('image.txt', '\ufeff', line.slice(0, 60))).toEqual(['day'])
  })

  it('is a track or a ground', async () => {
    for (const folder of ['gpxpy/', 'sweat/', 'gpxo/'])
      for (const name of readdirSync(new URL(folder, TRACKS)).filter((one) => /\.(gpx|fit)$/.test(one))) {
        const bytes = track(folder + name)
        if (bytes.length) expect(await names(name, bytes), name).toContain('track')
      }
    expect(await names('walk.gpx', track('gpxpy/cerknicko-jezero.gpx'))).toEqual(['track', 'ground'])
    expect(await names('walk.gpx', track('gpxpy/cerknicko-without-times.gpx'))).toEqual(['ground', 'track'])
    expect(await names('a.csv', 'time;lat;lon\n')).toEqual(['track'])
    expect(await names('b.csv', 'T_s,East_m,North_m\n')).toEqual(['track'])
    expect(await names('ground.json', '{"type": "FeatureCollection", "features": []}')).toEqual(['ground'])
  })

  it('is splits, records, tracks in a zip, or an elevation grid', async () => {
    expect(await names('s.csv', 'time,searcher,burial,split,note\r\n')).toEqual(['splits'])
    expect(await names('s.txt', '"t_s"\t"Split"\n')).toEqual(['splits'])
    expect(await names('all.zip', zip('people/a.json', 'manifest.json'))).toEqual(['records'])
    expect(await names('tracks.zip', zip('ines.gpx', 'bram.fit'))).toEqual(['track'])
    expect(await names('grid.asc', 'NCOLS 5\nnrows 5\n')).toEqual(['elevation'])
    expect(await names('grid', new Uint8Array([0x49, 0x49, 0x2a, 0, 8]))).toEqual(['elevation', 'picture'])
    expect(await names('grid.prj', 'PROJCS["x"]')).toEqual(['elevation'])
  })

  it('is nothing known', async () => {
    for (const content of ['', 'dear diary', '{"a": 1}', '[1, 2]', 'a,b,c\n1,2,3\n', '%PDF-1.7']) expect(await names('x.txt', content), content).toEqual([])
    expect(await names('photo.zip', zip('a.jpg'))).toEqual([])
    expect(await names('photo.jpg', new Uint8Array([0xff, 0xd8, 0xff, 0xe0]))).toEqual(['picture'])
  })
})

it('has words for every kind of file', () => {
  for (const { name } of KINDS) for (const family of ['goes', 'to']) expect(en.words).toHaveProperty([`drop.${family}.${name}`])
})
