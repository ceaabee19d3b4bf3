import { readFileSync } from 'node:fs'

import { decodeQR } from 'qr/decode.js'
import { describe, expect, it } from 'vitest'

import { dayName, writeDayFile } from '../../clock/day_file'
import type { Item, Run } from '../../clock/items'
import { dayCodes, dayFrom } from '../day'
import { inParts, MOST_SIGNS, Parts } from '../parts'
import { picture } from '../picture'
import { runFrom } from '../run'

/** What the program wrote, and the run that was written; `tests/files/test_run_code.py` reads the same. */
const examples = JSON.parse(readFileSync(new URL('../../../../tests/data/day/run_code.json', import.meta.url), 'utf8')) as { run: Run; codes: string[] }

const PHONE = { id: 'p1', name: 'Lärche', keeper: 'Inès' }
const DAY = writeDayFile({
  made_ms: 1_771_063_200_000,
  phone: { line: 'phone', ...PHONE },
  runs: [examples.run],
  items: Array.from({ length: 60 }, (_, i) => ({ line: 'item', id: `i${(i * 7919).toString(36)}x`, phone: 'p1', n: i + 1, of: 'run-7', wall_ms: 1_771_063_200_000 + i * 7001, page: 'g', since_page_ms: i * 7001, kind: 'split', split: 'first_signal', burial: 'A', searcher: null, aside: false }) as Item),
})

function fed(kind: 'CFR1' | 'CFD1', codes: readonly string[]): Parts {
  const parts = new Parts(kind)
  for (const code of codes) parts.take(code)
  return parts
}

describe('a run in codes', () => {
  it('is what the program wrote, its codes read in any order and more than once', async () => {
    expect(examples.codes.length).toBeGreaterThan(2)
    const [first = '', ...others] = examples.codes
    const parts = new Parts('CFR1')
    expect([...others.reverse(), others[0] ?? '', first].map((code) => parts.take(code)).filter((told) => told !== 'taken')).toEqual(['there already'])
    expect(runFrom((await parts.text()) ?? '')).toEqual(examples.run)
  })

  it('says which codes are missing', async () => {
    const parts = fed('CFR1', examples.codes.slice(1))
    expect([parts.complete, parts.parts, parts.missing]).toEqual([false, examples.codes.length, [1]])
    expect(await parts.text()).toBeNull()
  })

  it('takes nothing of a foreign, newer, damaged or other code, and keeps what it has', async () => {
    const parts = fed('CFR1', examples.codes.slice(0, 1))
    const [, second = ''] = examples.codes
    const other = (await inParts('CFR1', '{"id":"other"}')) ?? []
    const told = ['https://example.org/', '', second.replace('CFR1', 'CFR2'), second.replace('CFR1', 'CFD1'), second.slice(0, 20), second.toLowerCase(), second.replace('.2.', '.9.'), ...other].map((code) => parts.take(code))
    expect(told).toEqual(['foreign', 'foreign', 'newer', 'other way', 'damaged', 'foreign', 'damaged', 'mixed'])
    for (const code of examples.codes) parts.take(code)
    expect(runFrom((await parts.text()) ?? '')).toEqual(examples.run)
  })

  it('is known to be damaged by its one code that was, whichever sign it is', () => {
    const [first = ''] = examples.codes
    for (let at = 5; at < first.length; at += 7) {
      const wrong = first.slice(0, at) + (first.charAt(at) === '7' ? '6' : '7') + first.slice(at + 1)
      expect([wrong, new Parts('CFR1').take(wrong)]).toEqual([wrong, 'damaged'])
    }
    expect(new Parts('CFR1').take(first + 'A')).toBe('damaged')
  })

  it('keeps the run it began with where codes of another are mixed in', async () => {
    const others = (await inParts('CFR1', `{"id":"${'other'.repeat(300)}${Math.PI}"}`)) ?? []
    expect(fed('CFR1', [...examples.codes.slice(1), ...others]).missing).toEqual([1])
  })

  it.each(['[]', 'null', '{}', '{"id":"a b"}', '{"id":"r","burials":3}', '{"id":"r","name":"","prepared":true,"burials":[{"id":"A","has_set":1}]}', '{"id":"r","prepared":true,"more":1}', '{"id":"r","searchers":[null]}'])('%s is no run', (text) => {
    expect(runFrom(text)).toBeNull()
  })
})

describe('a day in codes', () => {
  it('comes out as the file that the phone would have saved, to the byte', async () => {
    const codes = (await dayCodes(DAY)) ?? []
    expect(codes.length).toBeGreaterThan(3)
    const text = await fed('CFD1', [...codes].reverse()).text()
    expect(dayFrom(text ?? '')).toEqual({ name: dayName(1_771_063_200_000, PHONE), text: DAY })
  })

  it('is said to be too much where nobody would film it all', async () => {
    const noise = Array.from({ length: 40_000 }, (_, i) => Math.floor(Math.abs(Math.sin(i) * 1e9)).toString(36)).join('')
    expect(await inParts('CFD1', noise)).toBeNull()
  })

  it('that is no day is not taken', () => {
    expect(dayFrom('{"line":"run"}\n{}')).toBeNull()
    expect(dayFrom('nonsense')).toBeNull()
  })
})

describe('the picture of a code', () => {
  it.each([30, MOST_SIGNS])('with %i signs is read by another reader, and is of version 12 at most', (signs) => {
    const text = `CFD1.10.99.0123ABCD.${'ABCDEFGHIJKLMNOPQRSTUVWXYZ234567'.repeat(13).slice(0, signs)}.89AB`
    const { size, path } = picture(text)
    // ISO/IEC 18004, from memory: version v has 17 + 4 v squares, and a light margin of 4.
    expect(size).toBeLessThanOrEqual(17 + 4 * 12 + 8)
    const scale = 4
    const data = new Uint8Array((size * scale) ** 2 * 4).fill(255)
    for (const [, x, y, wide] of path.matchAll(/M(\d+) (\d+)h(\d+)v1h-\d+z/g)) {
      for (let row = Number(y) * scale; row < (Number(y) + 1) * scale; row++) {
        for (let at = Number(x) * scale; at < (Number(x) + Number(wide)) * scale; at++) data.fill(0, (row * size * scale + at) * 4, (row * size * scale + at) * 4 + 3)
      }
    }
    expect(decodeQR({ width: size * scale, height: size * scale, data })).toBe(text)
  })
})
