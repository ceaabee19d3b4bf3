/** One catalogue for everything: `say('plan.title')`, `say('page.people', { n: 4 })`, `sayMessage(finding.text)`. */
export { currentLanguage, currentLocale, known, languageOf, languages, say, sayOr, useWords, type Entry, type Language, type Table } from './catalogue'
export type { Key } from './keys'
export { isMessage, type Message, verbatim } from './message'
export { isVerbatim, type Said, saidText, sayMessage, isOneOf } from './say_message'
