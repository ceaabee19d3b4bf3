import { readFileSync } from 'node:fs'

/** What the built debrief page carries with it, and where each licence text lies. */
const CARRIED = [
  ['Svelte', 'svelte/LICENSE.md'],
  ['Atkinson Hyperlegible', '@fontsource/atkinson-hyperlegible/LICENSE'],
]
/** What the page of codes carries on top, and the reader beside it. */
export const CODES = [
  ['qr', 'qr/LICENSE-MIT'],
  ['zxing-wasm', 'zxing-wasm/LICENSE'],
  ['ZXing-C++, in codes.wasm', '../../LICENSE'],
  ['libzueci, in codes.wasm', '../bundle/zueci.txt'],
]
/** What the app and the pages beside it carry on top. */
const BESIDE = [['openapi-fetch', 'openapi-fetch/LICENSE'], ['@noble/hashes', '@noble/hashes/LICENSE'], ...CODES]

function texts(carried) {
  return carried
    .map(([name, file]) => {
      const text = readFileSync(new URL(`../node_modules/${file}`, import.meta.url), 'utf8').trim()
      return `${name}\n\n${text}`
    })
    .join('\n\n')
}

/** The licence texts of everything inside the page, as one HTML comment. */
export function licences(beside = []) {
  return `<!--\nThis page contains:\n\n${texts([...CARRIED, ...beside]).replaceAll('--', '- -')}\n-->\n`
}

/**
 * Writes the licence texts of everything in the app into a file beside it.
 *
 * @returns {import('vite').Plugin}
 */
export function withLicences() {
  return {
    name: 'with-licences',
    generateBundle() {
      this.emitFile({ type: 'asset', fileName: 'licences.txt', source: texts([...CARRIED, ...BESIDE]) + '\n' })
    },
  }
}
