import { readFileSync } from 'node:fs'

import { describe, expect, it } from 'vitest'

// WCAG 2.2, definition of contrast ratio and of relative luminance (sRGB); 1.4.3 asks 4.5:1 of text, 1.4.11 asks
// 3:1 of graphics.
function luminance(hex: string): number {
  const [r, g, b] = [1, 3, 5].map((i) => {
    const part = parseInt(hex.slice(i, i + 2), 16) / 255
    return part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4
  })
  return 0.2126 * (r ?? 0) + 0.7152 * (g ?? 0) + 0.0722 * (b ?? 0)
}

function contrast(a: string, b: string): number {
  const [low, high] = [luminance(a), luminance(b)].sort((x, y) => x - y)
  return ((high ?? 0) + 0.05) / ((low ?? 0) + 0.05)
}

const sheets = ['tokens', 'drawn'].map((name) => readFileSync(new URL(`../../theme/${name}.css`, import.meta.url), 'utf8').split('@media screen'))
const [light, dark] = [0, 1].map((at) => sheets.map((sheet) => sheet[at] ?? '').join('')) as [string, string]
const tokens = (text: string): Record<string, string> =>
  Object.fromEntries([...text.matchAll(/--([\w-]+): (#[0-9a-f]{6})/g)].map(([, name, value]) => [name, value]))

describe.each([
  ['light', tokens(light)],
  ['dark', tokens(dark)],
])('%s', (_name, token) => {
  const of = (name: string): string => token[name] ?? '#000000'

  it.each(['ink', 'quiet', 'ember', 'moss', 'straw'])('%s is readable on paper and sheet', (name) => {
    expect(contrast(of(name), of('paper'))).toBeGreaterThanOrEqual(4.5)
    expect(contrast(of(name), of('sheet'))).toBeGreaterThanOrEqual(4.5)
  })

  it('bands of readings are ordered, and neighbours clearly lighter or darker', () => {
    // CIE 15: L* = 116 Y^(1/3) - 16, Y being the relative luminance under D65; 903.3 Y for the darkest.
    const lightness = (hex: string): number => (luminance(hex) > 0.008856 ? 116 * Math.cbrt(luminance(hex)) - 16 : 903.3 * luminance(hex))
    const steps = [0, 1, 2, 3, 4].map((band) => lightness(of(`band-${band}`)))
    const apart = steps.slice(1).map((step, k) => step - (steps[k] ?? 0))
    expect(Math.min(...apart.map(Math.abs))).toBeGreaterThanOrEqual(12)
    expect(new Set(apart.map(Math.sign)).size).toBe(1)
  })

  it('words are readable on the action and on each phase', () => {
    expect(contrast(of('on-ember'), of('ember'))).toBeGreaterThanOrEqual(4.5)
    for (const i of [0, 1, 2, 3, 4]) expect(contrast(of(`on-phase-${i}`), of(`phase-${i}`))).toBeGreaterThanOrEqual(4.5)
  })

  it('phases are one ramp', () => {
    const ramp = [0, 1, 2, 3, 4].map((i) => luminance(of(`phase-${i}`)))
    const sorted = [...ramp].sort((a, b) => a - b)
    expect(ramp).toEqual(token['paper'] === '#f6f4ee' ? sorted.reverse() : sorted)
  })

  it('every line of a person or of hearing stands out from the sheet', () => {
    for (let i = 0; i < 8; i++) expect(contrast(of(`person-${i}`), of('sheet'))).toBeGreaterThanOrEqual(3)
    for (let i = 0; i < 5; i++) expect(contrast(of(`reading-${i}`), of('sheet'))).toBeGreaterThanOrEqual(3)
  })
})
