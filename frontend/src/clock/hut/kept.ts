/** The codes with which this phone joined, in their own storage; on the disk once the promise resolves. */
import type { Joined } from './code'

const NAME = 'coldfield-hut'

export interface CodeStore {
  load(): Promise<Joined[]>
  keep(one: Joined): Promise<void>
}

class Disk implements CodeStore {
  constructor(private readonly db: IDBDatabase) {}

  load(): Promise<Joined[]> {
    return new Promise((done, failed) => {
      const asked = this.db.transaction('codes').objectStore('codes').getAll()
      asked.onsuccess = () => done(asked.result as Joined[])
      asked.onerror = () => failed(asked.error ?? new Error('not read'))
    })
  }

  keep(one: Joined): Promise<void> {
    return new Promise((done, failed) => {
      const writing = this.db.transaction('codes', 'readwrite', { durability: 'strict' })
      writing.objectStore('codes').put({ ...one })
      writing.oncomplete = () => done()
      writing.onabort = () => failed(writing.error ?? new Error('not kept'))
    })
  }
}

/** If the browser stores nothing: in this page until it is closed. */
class Page implements CodeStore {
  private readonly codes = new Map<string, Joined>()

  async load(): Promise<Joined[]> {
    return [...this.codes.values()]
  }

  async keep(one: Joined): Promise<void> {
    this.codes.set(`${one.may} ${one.run}`, one)
  }
}

export function openCodes(): Promise<CodeStore> {
  return new Promise((done) => {
    try {
      const asked = indexedDB.open(NAME, 1)
      asked.onupgradeneeded = () => asked.result.createObjectStore('codes', { keyPath: ['may', 'run'] })
      asked.onsuccess = () => done(new Disk(asked.result))
      asked.onerror = () => done(new Page())
    } catch {
      done(new Page())
    }
  })
}
