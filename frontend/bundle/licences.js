import { readFileSync } from 'node:fs'

/** The libraries in the built debrief page, with the place of each licence text. */
const CARRIED = [
  ['Svelte', 'svelte/LICENSE.md'],
  ['Atkinson Hyperlegible', '@fontsource/atkinson-hyperlegible/LICENSE'],
]
/** Additional libraries of the page of codes and of its reader. */
export const CODES = [
  ['qr', 'qr/LICENSE-MIT'],
  ['zxing-wasm', 'zxing-wasm/LICENSE'],
  ['ZXing-C++, in codes.wasm', '../../LICENSE'],
  ['libzueci, in codes.wasm', '../bundle/zueci.txt'],
]
/** Additional libraries of the app and the pages beside it. */
const BESIDE = [['openapi-fetch', 'openapi-fetch/LICENSE'], ['@noble/hashes', '@noble/hashes/LICENSE'], ...CODES]

function texts(carried) {
  return carried
    .map(([name, file]) => {
      const text = readFileSync(new URL(`../node_modules/${file}`, import.meta.url), 'utf8').trim()
      return `${name}\n\n${text}`
    })
    .join('\n\n')
}

/** Return the licence texts of everything inside the page as one HTML comment. */
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
