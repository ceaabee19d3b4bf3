/** The storage of items on the phone. An item counts as kept once the browser says that it is on the disk. */
import { newId } from './ids'
import type { Fresh, Item, Run } from './items'
import { Read } from './reduce'

export interface Phone {
  id: string
  name: string
  keeper: string
  /** The instructor's own word, shown after 'Stop: real emergency' if the run has none. */
  agreed_word: string
  emergency_number: string
}
export interface Moment {
  wall_ms: number
  page: string
  since_page_ms: number
}
export interface Kept {
  phone: Phone
  runs: Run[]
  items: Item[]
}
export interface Store {
  /** Whether the data survive closing the page. */
  readonly lasts: boolean
  load(): Promise<Kept>
  add(of: string, fresh: Fresh, at: Moment): Promise<Item>
  putRun(run: Run): Promise<void>
  putPhone(phone: Phone): Promise<void>
  /** Remove a run or check from this phone. */
  remove(of: string): Promise<void>
}

/** Equal splits this close together count as one press too many. */
const ASIDE_MS = 2000
const NAME = 'coldfield-clock'

const newPhone = (): Phone => ({ id: newId(), name: '', keeper: '', agreed_word: '', emergency_number: '' })

/** The item as stored: numbered after this phone's items; a split is set aside if an equal one came just before. */
export function stamped(of: string, fresh: Fresh, at: Moment, phone: string, there: readonly Item[]): Item {
  const n = Math.max(0, ...there.filter((item) => item.phone === phone).map((item) => item.n)) + 1
  const item = { line: 'item', id: newId(), phone, n, of, ...at, ...fresh } as Item
  return item.kind === 'split' && isAgain(item, there) ? { ...item, aside: true } : item
}

function isAgain(split: Item & { kind: 'split' }, there: readonly Item[]): boolean {
  const read = new Read(there)
  return read.of('split').some(
    (other) => other.split === split.split && other.burial === split.burial && Math.abs(split.wall_ms - read.at(other)) <= ASIDE_MS,
  )
}

export class DiskStore implements Store {
  readonly lasts = true
  private constructor(private readonly db: IDBDatabase) {}

  /** Open the phone's storage and write to it once, to be sure that it works. */
  static async open(): Promise<DiskStore> {
    const asked = indexedDB.open(NAME, 1)
    asked.onupgradeneeded = () => {
      const items = asked.result.createObjectStore('items', { keyPath: 'id' })
      items.createIndex('of', 'of')
      items.createIndex('order', ['of', 'phone', 'n'], { unique: true })
      asked.result.createObjectStore('runs', { keyPath: 'id' })
      asked.result.createObjectStore('phone', { keyPath: 'key' })
    }
    const store = new DiskStore(await answer(asked))
    store.db.onversionchange = () => store.db.close()
    await store.write(['phone'], async (at) => {
      const there = await answer(at('phone').get('phone'))
      if (!there) at('phone').add({ key: 'phone', ...newPhone() })
      at('phone').put({ key: 'tried' })
    })
    return store
  }

  async load(): Promise<Kept> {
    const reading = this.db.transaction(['items', 'runs', 'phone'])
    const [items, runs, kept] = await Promise.all([
      answer<Item[]>(reading.objectStore('items').getAll()),
      answer<Run[]>(reading.objectStore('runs').getAll()),
      answer<Phone & { key?: string }>(reading.objectStore('phone').get('phone')),
    ])
    const { key: _, ...phone } = kept
    return { items, runs, phone }
  }

  add(of: string, fresh: Fresh, at: Moment): Promise<Item> {
    return this.write(['items', 'phone'], async (store) => {
      const phone = await answer<Phone>(store('phone').get('phone'))
      const there = await answer<Item[]>(store('items').index('of').getAll(of))
      const item = stamped(of, fresh, at, phone.id, there)
      store('items').add(item)
      return item
    })
  }

  async putRun(run: Run): Promise<void> {
    await this.write(['runs'], async (store) => void store('runs').put(run))
  }

  async putPhone(phone: Phone): Promise<void> {
    await this.write(['phone'], async (store) => void store('phone').put({ key: 'phone', ...phone }))
  }

  async remove(of: string): Promise<void> {
    await this.write(['items', 'runs'], async (store) => {
      for (const key of await answer<IDBValidKey[]>(store('items').index('of').getAllKeys(of))) store('items').delete(key)
      store('runs').delete(of)
    })
  }

  /** Do one piece of work completely or not at all; the promise resolves when it is on the disk. */
  private write<T>(names: string[], work: (store: (name: string) => IDBObjectStore) => Promise<T>): Promise<T> {
    return new Promise((done, failed) => {
      const writing = this.db.transaction(names, 'readwrite', { durability: 'strict' })
      let made: T
      writing.oncomplete = () => done(made)
      writing.onabort = () => failed(writing.error ?? new Error('not kept'))
      work((name) => writing.objectStore(name)).then(
        (value) => (made = value),
        (why: unknown) => {
          failed(why instanceof Error ? why : new Error(String(why)))
          try {
            writing.abort()
          } catch {
            // The transaction has already ended.
          }
        },
      )
    })
  }
}

/** Used if the browser stores nothing: the data are in this page until it is closed. */
export class PageStore implements Store {
  readonly lasts = false
  private phone = newPhone()
  private readonly runs = new Map<string, Run>()
  private items: Item[] = []

  async load(): Promise<Kept> {
    return { phone: this.phone, runs: [...this.runs.values()], items: [...this.items] }
  }

  async add(of: string, fresh: Fresh, at: Moment): Promise<Item> {
    const item = stamped(of, fresh, at, this.phone.id, this.items.filter((one) => one.of === of))
    this.items.push(item)
    return item
  }

  async putRun(run: Run): Promise<void> {
    this.runs.set(run.id, run)
  }

  async putPhone(phone: Phone): Promise<void> {
    this.phone = phone
  }

  async remove(of: string): Promise<void> {
    this.items = this.items.filter((item) => item.of !== of)
    this.runs.delete(of)
  }
}

/** The phone's storage, or the page itself if there is none. */
export async function openStore(): Promise<Store> {
  try {
    return await DiskStore.open()
  } catch {
    return new PageStore()
  }
}

function answer<T>(asked: IDBRequest): Promise<T> {
  return new Promise((done, failed) => {
    asked.onsuccess = () => done(asked.result as T)
    asked.onerror = () => failed(asked.error ?? new Error('not kept'))
  })
}
