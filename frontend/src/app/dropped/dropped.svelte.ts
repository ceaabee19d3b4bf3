/** Handles every dropped file: passes it to a drop zone on the page that accepts it, or says where it belongs. */
import { linesOf } from '../../api/lines'
import { say, type Key, type Said } from '../../words'
import { go, route } from '../router.svelte'
import { type KindName, kindsOf, type Known } from './kinds'

/** A drop zone on the page. */
export interface Taker {
  takes: readonly KindName[]
  /** File extensions for the file dialog, such as '.gpx,.fit'. */
  accept: string
  multiple: boolean
  busy: () => boolean
  give: (files: File[]) => unknown
  /** Brings the drop zone into view. */
  show: () => void
}

/** The message about dropped files that no drop zone accepted. */
export interface Notice {
  words: string
  faults?: readonly Said[]
  link?: { href: string; words: string }
}

/** The time within which a page opened for a file must accept it. */
const HANDED_WITHIN_MS = 15_000

class Dropped {
  said = $state.raw<readonly Notice[]>([])
  /** Files are being examined or imported. */
  busy = $state(false)
  private takers: Taker[] = []
  private waiting: { kind: Known; files: File[] } | null = null
  private late: ReturnType<typeof setTimeout> | undefined

  /** Register a drop zone; returns a function that removes it. */
  register(taker: Taker): () => void {
    this.takers.push(taker)
    return () => void (this.takers = this.takers.filter((one) => one !== taker))
  }

  /** A drop zone is free: pass it the files that wait for one like it. */
  free(taker: Taker): void {
    const waiting = this.waiting
    if (!waiting || !taker.takes.includes(waiting.kind.name)) return
    this.stopWaiting()
    this.give(taker, waiting.files)
  }

  clear(): void {
    this.said = []
  }

  /** Handle dropped files; `own` is the drop zone they were dropped on. */
  async take(files: readonly File[], own: Taker | null = null): Promise<void> {
    this.said = []
    this.stopWaiting()
    this.busy = true
    const here = new Map<Taker, File[]>()
    const elsewhere = new Map<Known, File[]>()
    for (const file of files) {
      const kinds = await kindsOf(file).catch(() => null)
      if (kinds === null) this.say({ words: say('drop.unread', { file: file.name }) })
      else if (!file.size) this.say({ words: say('drop.empty', { file: file.name }) })
      else this.sort(file, kinds, own, here, elsewhere)
    }
    for (const [taker, some] of here) this.give(taker, some)
    for (const [kind, some] of elsewhere) await this.send(kind, some)
    this.busy = false
  }

  private sort(file: File, kinds: Known[], own: Taker | null, here: Map<Taker, File[]>, elsewhere: Map<Known, File[]>): void {
    const places = own ? [own, ...this.takers] : this.takers
    const ending = /\.\w+$/.exec(file.name.toLowerCase())?.[0] ?? '?'
    const fits = (taker: Taker): boolean => kinds.some(({ name }) => taker.takes.includes(name))
    // An unknown file goes to a drop zone that accepts its extension; its reader says what is wrong with it.
    const taker = places.find(fits) ?? (kinds.length ? undefined : places.find(({ accept }) => accept.split(',').includes(ending)))
    const [kind] = kinds
    if (taker) here.set(taker, [...(here.get(taker) ?? []), file])
    else if (kind) elsewhere.set(kind, [...(elsewhere.get(kind) ?? []), file])
    else this.say({ words: say('drop.unknown', { file: file.name }) })
  }

  private give(taker: Taker, files: File[]): void {
    const [first, ...more] = files
    const names = (some: File[]): string => some.map(({ name }) => name).join(', ')
    if (taker.busy()) return this.say({ words: say('drop.busy', { file: names(files) }) })
    if (!taker.multiple && first && more.length) this.say({ words: say('drop.oneOnly', { file: first.name, others: names(more) }) })
    taker.show()
    taker.give(taker.multiple || !first ? files : [first])
  }

  private async send(kind: Known, files: File[]): Promise<void> {
    if (kind.bring) {
      for (const file of files) {
        await kind.bring([file]).catch((error: unknown) => this.say({ words: say(kind.name === 'day' ? 'drop.failedDay' : 'drop.failed', { file: file.name }), faults: linesOf(error) }))
      }
      return
    }
    const href = this.waiting ? null : (kind.at?.(route.path) ?? null)
    if (!href) return this.tellWhere(kind, files)
    this.waiting = { kind, files }
    this.late = setTimeout(() => this.giveUp(), HANDED_WITHIN_MS)
    go(href)
  }

  private tellWhere({ name, to }: Known, files: File[]): void {
    const file = files.map((one) => one.name).join(', ')
    this.say({ words: say(`drop.goes.${name}` as Key, { file }), link: { href: to, words: say(`drop.to.${name}` as Key) } })
  }

  private giveUp(): void {
    const waiting = this.waiting
    this.stopWaiting()
    if (waiting) this.tellWhere(waiting.kind, waiting.files)
  }

  private stopWaiting(): void {
    clearTimeout(this.late)
    this.waiting = null
  }

  private say(one: Notice): void {
    this.said = [...this.said, one]
  }
}

export const dropped = new Dropped()
