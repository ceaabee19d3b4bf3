/** Where the app is: the address is the state, ordinary links work, so does the back button. */
class Route {
  path = $state(location.pathname)
  private search = $state(location.search)

  constructor() {
    addEventListener('popstate', () => this.read())
    document.addEventListener('click', (event) => this.caught(event))
  }

  get query(): URLSearchParams {
    return new URLSearchParams(this.search)
  }

  /** Go to an address of this app; `instead` leaves no step to go back to. */
  go(href: string, { instead = false } = {}): void {
    if (instead) history.replaceState(null, '', href)
    else history.pushState(null, '', href)
    const before = this.path
    this.read()
    if (this.path !== before) scrollTo(0, 0)
  }

  /** Set or (null) take away parts of the query; a step to go back to, unless `instead`. */
  set(values: Record<string, string | null>, { instead = false } = {}): void {
    const query = this.query
    for (const [name, value] of Object.entries(values)) {
      if (value === null) query.delete(name)
      else query.set(name, value)
    }
    const text = query.toString()
    if (text !== this.query.toString()) this.go(this.path + (text ? `?${text}` : ''), { instead })
  }

  private read(): void {
    this.path = location.pathname
    this.search = location.search
  }

  /** A plain click on a link within the app changes the page without loading everything anew. */
  private caught(event: MouseEvent): void {
    if (event.defaultPrevented || event.button || event.ctrlKey || event.metaKey || event.shiftKey || event.altKey) return
    const link = event.target instanceof Element ? event.target.closest('a') : null
    if (!link || link.target || link.hasAttribute('download') || link.origin !== location.origin) return
    if (link.hash && link.pathname === location.pathname) return
    if (!inApp(link.pathname)) return
    event.preventDefault()
    this.go(link.pathname + link.search)
  }
}

const PAGES = ['drills', 'runs', 'courses', 'people', 'kit']

/** Whether an address is a page of this app, not a file or an answer of the service. */
export function inApp(path: string): boolean {
  const [, first = ''] = path.split('/')
  return first === '' || PAGES.includes(first)
}

export const route = new Route()
export const go = (href: string, options?: { instead?: boolean }): void => route.go(href, options)
