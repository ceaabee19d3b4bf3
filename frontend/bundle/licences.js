import { readFileSync } from 'node:fs'

/** What the built page carries with it, and where each licence text lies. */
const CARRIED = [
  ['Svelte', 'svelte/LICENSE.md'],
  ['Atkinson Hyperlegible', '@fontsource/atkinson-hyperlegible/LICENSE'],
]

/** The licence texts of everything inside the page, as one HTML comment. */
export function licences() {
  const texts = CARRIED.map(([name, file]) => {
    const text = readFileSync(new URL(`../node_modules/${file}`, import.meta.url), 'utf8').trim()
    return `${name}\n\n${text}`
  })
  return `<!--\nThis page contains:\n\n${texts.join('\n\n').replaceAll('--', '- -')}\n-->\n`
}
