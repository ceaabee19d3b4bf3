/** Addresses of what is printed: in the language in use, on the paper of this country. */
import { currentLanguage } from '../words'

export interface Sheet {
  /** Without language and paper. */
  address: string
  /** What it is called when it is saved. */
  file: string
  label: string
  /** Whose it is, where it is one person's. */
  person?: string
}

/** Countries that print on letter paper; elsewhere it is A4. */
const LETTER = /-(US|CA|MX|PH|CL|CO)\b/

export const paperOf = (locale: string): string => (LETTER.test(locale) ? 'us-letter' : 'a4')

export function sheetAddress(sheet: Sheet): string {
  const query = new URLSearchParams({ language: currentLanguage(), paper: paperOf(navigator.language) })
  if (sheet.person) query.set('person', sheet.person)
  return `${sheet.address}${sheet.address.includes('?') ? '&' : '?'}${query.toString()}`
}
