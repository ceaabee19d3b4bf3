/** Settings kept in this browser: language, theme and a few values. */
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
    // It cannot be stored, but still applies to this page.
  }
}

/** The preferred languages, best first: the chosen one, then those of the browser. */
export function wantedLanguages(): readonly string[] {
  return [read('language') ?? '', ...navigator.languages].filter(Boolean)
}

/** Choose a language; the page is reloaded because all its text changes. */
export function chooseLanguage(language: string): void {
  keep('language', language)
  location.reload()
}

class Settings {
  private systemDark = $state(false)
  private chosen = $state<Theme | null>(read('theme') === 'dark' ? 'dark' : read('theme') === 'light' ? 'light' : null)
  readonly theme: Theme = $derived(this.chosen ?? (this.systemDark ? 'dark' : 'light'))

  /** The text after 'Stop: real emergency' on the phone, as last entered here. */
  agreedWord: string = read('agreed_word') ?? ''
  emergencyNumber: string = read('emergency_number') ?? ''

  /** Whether '/' alone opens the search; Ctrl with K always does. */
  slash = $state(read('slash') !== 'off')

  /** The address of the instructor's own clock, on an https host. */
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

  useSlash(on: boolean): void {
    this.slash = on
    keep('slash', on ? 'on' : 'off')
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
