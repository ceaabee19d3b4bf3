/** What the instructor saw, in their own words; what the program knows words for is told in the chosen language. */
import { SEEN } from '../clock/items'
import { say, toldOr } from '../words'

export function observed(note: string): string {
  // A usual observation stands by its code's words, at the beginning, with 'not seen' and a note behind it.
  const [, about = '', rest = ''] = /^([^:(]+?)((?: \(not seen\))?(?:: .*)?)$/s.exec(note) ?? []
  const code = SEEN.find((one) => one.replaceAll('_', ' ') === about)
  const said = code ? say(`seen.${code}`) : ''
  const [, not, words = ''] = /^( \(not seen\))?(.*)$/s.exec(rest) ?? []
  if (said) return not ? toldOr(`${said} (not seen)`) + words : said + rest
  return note.includes(' (not seen)') ? toldOr(note) : note
}
