/** What this browser remembers of the person in front of it: language and theme. */
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

/** The languages that are wanted here, the best first: the one chosen, then those of the browser. */
export function wantedLanguages(): readonly string[] {
  return [read('language') ?? '', ...navigator.languages].filter(Boolean)
}

/** Choose a language; every word is said anew, so the page is loaded anew. */
export function chooseLanguage(language: string): void {
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

  /** Where the instructor's own clock lies, on an https host. */
  clockAddress: string = read('clock_address') ?? ''

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

  rememberClock(address: string): void {
    this.clockAddress = address
    keep('clock_address', address)
  }

  switchTheme(): void {
    this.chosen = this.theme === 'dark' ? 'light' : 'dark'
    keep('theme', this.chosen)
  }
}

export const settings = new Settings()
