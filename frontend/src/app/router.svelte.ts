import { NAVIGATION } from './pages'
import { Scrolled } from './scrolled'

/** The router: the address is the state, and ordinary links and the back button work. */
class Route {
  path = $state(location.pathname)
  private search = $state(location.search)

  private readonly scrolled = new Scrolled()

  constructor() {
    addEventListener('popstate', () => {
      this.read()
      this.scrolled.restore()
      this.focusLost()
    })
    document.addEventListener('click', (event) => this.caught(event))
  }

  get query(): URLSearchParams {
    return new URLSearchParams(this.search)
  }

  /** Go to an address of this app; `instead` replaces the current step of the history. */
  go(href: string, { instead = false } = {}): void {
    this.scrolled.leave()
    if (instead) history.replaceState(history.state, '', href)
    else history.pushState(null, '', href)
    const before = this.path
    this.read()
    if (this.path === before) return
    scrollTo(0, 0)
    this.focusLost()
  }

  /** Set or (null) remove parts of the query; adds a step to the history unless `instead`. */
  set(values: Record<string, string | null>, { instead = false } = {}): void {
    const query = this.query
    for (const [name, value] of Object.entries(values)) {
      if (value === null) query.delete(name)
      else query.set(name, value)
    }
    const text = query.toString()
    if (text !== this.query.toString()) this.go(this.path + (text ? `?${text}` : ''), { instead })
  }

  /** A value kept with this step of the history, such as how much of a list was shown. */
  kept<T>(name: string): T | null {
    return (history.state as Record<string, T> | null)?.[name] ?? null
  }

  keep(name: string, value: unknown): void {
    history.replaceState({ ...(history.state as object | null), [name]: value }, '')
  }

  /** If the focused element is gone, focus the page, so that the next Tab does not start at the top. */
  focusLost(): void {
    requestAnimationFrame(() => {
      if (document.activeElement === document.body) document.getElementById('page')?.focus({ preventScroll: true })
    })
  }

  private read(): void {
    this.path = location.pathname
    this.search = location.search
  }

  /** A plain click on a link within the app changes the page without a full reload. */
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

/** Whether an address is a page of this app, not a file or an API route. */
export function inApp(path: string): boolean {
  const [, first = ''] = path.split('/')
  return NAVIGATION.some(({ href }) => href === `/${first}`)
}

export const route = new Route()
export const go = (href: string, options?: { instead?: boolean }): void => route.go(href, options)
