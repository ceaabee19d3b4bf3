/** Addresses of printable sheets, in the current language and the paper size of the country. */
import { currentLanguage } from '../words'

export interface Sheet {
  /** Without language and paper. */
  address: string
  /** The file name when it is saved. */
  file: string
  label: string
  /** The person, if it is about one person. */
  person?: string
}

/** Countries that use letter paper; all others use A4. */
const LETTER = /-(US|CA|MX|PH|CL|CO)\b/

export const paperOf = (locale: string): string => (LETTER.test(locale) ? 'us-letter' : 'a4')

export function sheetAddress(sheet: Sheet): string {
  const query = new URLSearchParams({ language: currentLanguage(), paper: paperOf(navigator.language) })
  if (sheet.person) query.set('person', sheet.person)
  return `${sheet.address}${sheet.address.includes('?') ? '&' : '?'}${query.toString()}`
}
