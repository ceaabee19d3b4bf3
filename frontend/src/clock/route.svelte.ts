/** The current place in the clock: `#run/ID/hide`, `#check/ID`, `#back`, `#here`; empty is the start. */
class Route {
  parts = $state.raw<string[]>(read())

  constructor() {
    addEventListener('hashchange', () => {
      this.parts = read()
      scrollTo(0, 0)
    })
  }

  get page(): string {
    return this.parts[0] ?? ''
  }
  get id(): string {
    return this.parts[1] ?? ''
  }
  get part(): string {
    return this.parts[2] ?? ''
  }
}

function read(): string[] {
  return location.hash.replace(/^#\/?/, '').split('/').map(decodeURIComponent).filter(Boolean)
}

export function go(...parts: string[]): void {
  location.hash = parts.map(encodeURIComponent).join('/')
}

export const at = (...parts: string[]): string => `#${parts.map(encodeURIComponent).join('/')}`

export const route = new Route()
