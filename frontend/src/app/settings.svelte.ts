/** What this browser remembers of the person in front of it: language and theme. */
import { type Language, languageOf } from '../words'

export type Theme = 'light' | 'dark'

function read(name: string): string | null {
  try {
    return localStorage.getItem(`coldfield.${name}`)
  } catch {
    return null
  }
}

function keep(name: string, value: string): void {
  try {
    localStorage.setItem(`coldfield.${name}`, value)
  } catch {
    // Not remembered; it still holds for this page.
  }
}

/** The language chosen here, else the first of the browser's that there is a catalogue for. */
export function wantedLanguage(): Language {
  const chosen = languageOf(read('language') ?? '')
  return chosen ?? navigator.languages.map(languageOf).find((language) => language !== null) ?? 'en'
}

/** Choose a language; every word is said anew, so the page is loaded anew. */
export function chooseLanguage(language: Language): void {
  keep('language', language)
  location.reload()
}

class Settings {
  private systemDark = $state(false)
  private chosen = $state<Theme | null>(read('theme') === 'dark' ? 'dark' : read('theme') === 'light' ? 'light' : null)
  readonly theme: Theme = $derived(this.chosen ?? (this.systemDark ? 'dark' : 'light'))

  /** What stands after 'Stop: real emergency' on the phone, as it was last given here. */
  agreedWord: string = read('agreed_word') ?? ''
  emergencyNumber: string = read('emergency_number') ?? ''

  constructor() {
    const dark = matchMedia('(prefers-color-scheme: dark)')
    this.systemDark = dark.matches
    dark.addEventListener('change', () => (this.systemDark = dark.matches))
  }

  rememberEmergency(word: string, number: string): void {
    this.agreedWord = word
    this.emergencyNumber = number
    keep('agreed_word', word)
    keep('emergency_number', number)
  }

  switchTheme(): void {
    this.chosen = this.theme === 'dark' ? 'light' : 'dark'
    keep('theme', this.chosen)
  }
}

export const settings = new Settings()
