/** The pages by address; each is loaded when it is first opened. */
import type { Component } from 'svelte'

import type { Key } from '../words'
import { withWords } from '../words/load'

/** The props of a page: the id in its address, or ''. */
export interface PageProps {
  id: string
}
type Load = () => Promise<{ default: Component<PageProps> }>

export interface Page {
  pattern: RegExp
  /** The name of the page in the navigation and the title. */
  name: Key
  /** Whether it has a plan, so that it uses the full width. */
  plan?: true
  load: Load
}

const ID = '([A-Za-z0-9][A-Za-z0-9_-]{0,63})'

export const PAGES: readonly Page[] = [
  { pattern: /^\/$/, name: 'app.start', load: () => withWords('StartPage', import('../start/StartPage.svelte')) },
  { pattern: /^\/drills\/?$/, name: 'app.drills', load: () => withWords('DrillsPage', import('../records/DrillsPage.svelte')) },
  { pattern: new RegExp(`^/drills/${ID}$`), name: 'app.drills', plan: true, load: () => withWords('DrillPage', import('../drill/DrillPage.svelte')) },
  { pattern: /^\/runs\/?$/, name: 'app.runs', load: () => withWords('RunsPage', import('../runs/RunsPage.svelte')) },
  { pattern: new RegExp(`^/runs/${ID}$`), name: 'app.runs', plan: true, load: () => withWords('RunPage', import('../runs/RunPage.svelte')) },
  { pattern: /^\/courses\/?$/, name: 'app.courses', load: () => withWords('CoursesPage', import('../records/CoursesPage.svelte')) },
  { pattern: new RegExp(`^/courses/${ID}$`), name: 'app.courses', load: () => withWords('CoursePage', import('../records/CoursePage.svelte')) },
  { pattern: /^\/people\/?$/, name: 'app.people', load: () => withWords('PeoplePage', import('../records/PeoplePage.svelte')) },
  { pattern: new RegExp(`^/people/${ID}$`), name: 'app.people', load: () => withWords('PersonPage', import('../records/PersonPage.svelte')) },
  { pattern: /^\/coach\/?$/, name: 'app.coach', load: () => withWords('CoachPage', import('../coaching/CoachPage.svelte')) },
  { pattern: /^\/propose\/?$/, name: 'app.coach', load: () => withWords('ProposePage', import('../coaching/ProposePage.svelte')) },
  { pattern: /^\/kit\/?$/, name: 'app.kit', load: () => withWords('KitPage', import('../records/KitPage.svelte')) },
]

export const NAVIGATION: readonly { href: string; name: Key }[] = [
  { href: '/', name: 'app.start' },
  { href: '/drills', name: 'app.drills' },
  { href: '/runs', name: 'app.runs' },
  { href: '/courses', name: 'app.courses' },
  { href: '/people', name: 'app.people' },
  { href: '/coach', name: 'app.coach' },
  { href: '/kit', name: 'app.kit' },
]

/** The page at an address, with the id in it. */
export function pageAt(path: string): { page: Page; id: string } | null {
  for (const page of PAGES) {
    const found = page.pattern.exec(path)
    if (found) return { page, id: found[1] ?? '' }
  }
  return null
}

/** Load the pages that have not been opened yet. */
export function loadAll(): void {
  for (const page of PAGES) page.load().catch(() => undefined)
}
