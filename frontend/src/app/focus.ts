/** Keep the focus: if the focused element disappears or is disabled, a neighbour gets the focus. */
import { tick } from 'svelte'

const REACHED = 'a[href], button, input, select, textarea, summary, [tabindex]:not([tabindex="-1"])'

type Reached = HTMLElement | SVGElement

interface Had {
  element: Reached
  kind: string
  name: string
  /** Its ancestors, from the inside out, and its index among the focusable elements in each. */
  holders: { holder: Element; index: number }[]
}

/** Whether an element can no longer have the focus; fast, because it is called after every change of the page. */
const gone = (element: Element): boolean => !element.isConnected || element.matches(':disabled, [hidden] *')

const usable = (element: Element): boolean =>
  !gone(element) && element.getClientRects().length > 0

const reachedIn = (holder: ParentNode): Reached[] => [...holder.querySelectorAll<Reached>(REACHED)].filter(usable)

const kindOf = (element: Element): string => [element.tagName, element.getAttribute('type'), element.getAttribute('class')].join(' ')

/** What distinguishes it from others of its kind: its name without numbers that may change. */
function nameOf(element: Element): string {
  const label = element instanceof HTMLInputElement ? element.labels?.[0]?.textContent : element.textContent
  return (element.getAttribute('aria-label') ?? label ?? '').replace(/[\d.,]+/g, '').trim()
}

function had(element: Reached): Had {
  const all = reachedIn(document)
  const at = all.indexOf(element)
  const holders: Had['holders'] = []
  let first = at
  for (let holder = element.parentElement; holder; holder = holder.parentElement) {
    while (first > 0 && holder.contains(all[first - 1] ?? null)) first--
    holders.push({ holder, index: at - first })
  }
  return { element, kind: kindOf(element), name: nameOf(element), holders }
}

/** The element that gets the focus from one that disappeared: a similar one in the same place, or what is there now. */
function heir({ kind, name, holders }: Had): Reached | null {
  const page = document.getElementById('page')
  let within = false
  for (const { holder, index } of holders) {
    // Elements of another page are not neighbours: a new page is read from its beginning.
    if (holder.contains(page) && (holder !== page || !within)) break
    if (!holder.isConnected) continue
    within = true
    const left = reachedIn(holder)
    if (!left.length && holder !== page && holder.matches(REACHED) && usable(holder)) return holder as Reached
    if (!left.length) continue
    const alike = left.filter((one) => kindOf(one) === kind)
    const same = alike.filter((one) => nameOf(one) === name)
    const near = (list: readonly Reached[]): Reached | undefined =>
      [...list].sort((a, b) => Math.abs(left.indexOf(a) - index) - Math.abs(left.indexOf(b) - index))[0]
    return near(same) ?? near(alike) ?? left[Math.min(index, left.length - 1)] ?? null
  }
  return page
}

/** After a record shown below a table is removed, focus the neighbouring row once the table is updated. */
export async function focusRow(table: HTMLElement | undefined, row: number): Promise<void> {
  await tick()
  const buttons = table?.querySelectorAll<HTMLElement>('tbody th button') ?? []
  buttons[Math.min(row, buttons.length - 1)]?.focus()
}

/** Watch the focus of the whole page; returns a function that stops watching. */
export function keepFocus(): () => void {
  let last: Had | null = null
  let byPointer = false
  let waiting = 0

  const came = (event: FocusEvent): void => {
    if (event.target instanceof HTMLElement || event.target instanceof SVGElement) last = had(event.target)
  }
  const pointed = (): void => void (byPointer = true)
  const keyed = (): void => void (byPointer = false)
  const clicked = (event: MouseEvent): void => void (byPointer &&= event.detail > 0)

  function look(): void {
    waiting = 0
    const at = document.activeElement
    // A focused element that is disabled keeps the focus until the next frame.
    const lost = at === null || at === document.body || at === last?.element
    if (!last || !lost || !gone(last.element)) return
    const to = heir(last)
    // On a phone, focusing a text field would open the keyboard unexpectedly.
    if (byPointer && to?.matches('input, textarea, select')) last = null
    else to?.focus({ preventScroll: byPointer })
  }
  const changed = new MutationObserver(() => {
    if (last && !waiting && gone(last.element)) waiting = window.setTimeout(look)
  })

  document.addEventListener('focusin', came)
  document.addEventListener('pointerdown', pointed, true)
  document.addEventListener('keydown', keyed, true)
  document.addEventListener('click', clicked, true)
  changed.observe(document.body, { childList: true, subtree: true, attributes: true, attributeFilter: ['disabled', 'hidden'] })
  return () => {
    changed.disconnect()
    clearTimeout(waiting)
    document.removeEventListener('focusin', came)
    document.removeEventListener('pointerdown', pointed, true)
    document.removeEventListener('keydown', keyed, true)
    document.removeEventListener('click', clicked, true)
  }
}
