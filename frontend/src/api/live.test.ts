import { afterEach, beforeEach, expect, it, vi } from 'vitest'

import { LiveRecord } from './live.svelte'

interface Person {
  name: string
  contact: string
  notes: string
}

/** A stand-in for the service, with one person; `down` and `refuse` make it fail. */
class Service {
  person: Person = { name: 'Ines', contact: '', notes: '' }
  version = 1
  down = false
  refuse: string | null = null
  writes = 0

  readonly fetch = vi.fn((request: Request | string, options: RequestInit = {}): Promise<Response> => {
    if (this.down) return Promise.reject(new TypeError('no answer'))
    if (options.method !== 'PUT') return this.answer(200, this.stored())
    this.writes += 1
    const based = Number(new Headers(options.headers).get('if-match')?.replaceAll('"', ''))
    if (this.refuse) return this.answer(422, { status: 422, detail: 'no', messages: [{ code: 'verbatim', values: { text: this.refuse } }] })
    if (based !== this.version) return this.answer(412, { status: 412, detail: 'changed', faults: [], stored_version: this.version })
    this.write(JSON.parse(String(options.body)) as Person)
    return this.answer(200, this.stored())
  })

  /** Somebody else writes. */
  write(person: Person): void {
    this.person = person
    this.version += 1
  }

  private stored(): object {
    return { id: 'ines', version: this.version, created_utc: '', changed_utc: '', deletion_id: null, ...this.person }
  }

  private answer(status: number, body: unknown): Promise<Response> {
    return Promise.resolve(new Response(JSON.stringify(body), { status }))
  }
}

let service: Service
let kept: Map<string, string>
const open: LiveRecord<'people'>[] = []

beforeEach(() => {
  vi.useFakeTimers()
  service = new Service()
  kept = new Map()
  vi.stubGlobal('fetch', service.fetch)
  vi.stubGlobal('addEventListener', vi.fn())
  vi.stubGlobal('removeEventListener', vi.fn())
  vi.stubGlobal('localStorage', {
    getItem: (name: string) => kept.get(name) ?? null,
    setItem: (name: string, value: string) => void kept.set(name, value),
    removeItem: (name: string) => void kept.delete(name),
  })
})

afterEach(() => {
  for (const record of open.splice(0)) record.close()
  vi.useRealTimers()
  vi.unstubAllGlobals()
})

async function opened(): Promise<LiveRecord<'people'>> {
  const record = new LiveRecord('people', 'ines')
  open.push(record)
  await record.load()
  return record
}

const later = (ms = 1000): Promise<unknown> => vi.advanceTimersByTimeAsync(ms)

it('saves a moment after the last change, a gesture in one write and one step back', async () => {
  const record = await opened()
  record.hold(true)
  for (const name of ['I', 'In', 'Inga']) record.change('rename', (draft) => void (draft.name = name), 'typing')
  await later()
  expect(service.writes).toBe(0)
  record.hold(false)
  expect(record.saving).toBe('unsaved')
  await later()
  expect([service.writes, service.person.name, record.saving, kept.size]).toEqual([1, 'Inga', 'saved', 0])
  record.undo()
  await later()
  expect([service.person.name, record.undoLabel, record.redoLabel]).toEqual(['Ines', null, 'rename'])
  record.redo()
  await later()
  expect(service.person.name).toBe('Inga')
})

it('changes nothing, and sends nothing, where nothing is different', async () => {
  const record = await opened()
  record.change('rename', (draft) => void (draft.name = 'Ines'))
  await later()
  expect([service.writes, record.undoLabel]).toEqual([0, null])
})

it('keeps a change in the browser while the service is gone, and sends it once it answers', async () => {
  const record = await opened()
  service.down = true
  record.change('note', (draft) => void (draft.notes = 'left-handed'))
  await later()
  expect([record.saving, kept.size]).toEqual(['unreachable', 1])
  service.down = false
  await later(20_000)
  expect([record.saving, service.person.notes, kept.size]).toEqual(['saved', 'left-handed', 0])
})

it('goes on, after a reload, with what was not saved', async () => {
  const record = await opened()
  service.down = true
  record.change('note', (draft) => void (draft.notes = 'left-handed'))
  record.close()
  service.down = false
  const again = await opened()
  expect(again.form.notes).toBe('left-handed')
  await later()
  expect([again.saving, service.person.notes]).toEqual(['saved', 'left-handed'])
  again.undo()
  await later()
  expect(service.person.notes).toBe('')
})

it('tells why something is refused, and saves once it is mended', async () => {
  const record = await opened()
  service.refuse = 'name: must not be empty'
  record.change('rename', (draft) => void (draft.name = ''))
  await later()
  expect([record.saving, record.faults]).toEqual(['refused', [{ code: 'verbatim', values: { text: 'name: must not be empty' } }]])
  service.refuse = null
  record.change('rename', (draft) => void (draft.name = 'Ina'))
  await later()
  expect([record.saving, record.faults, service.person.name]).toEqual(['saved', [], 'Ina'])
})

it.each([['mine', 'Ina'], ['theirs', 'Bram']] as const)('asks whose change stands, and keeps %s', async (whose, stands) => {
  const record = await opened()
  service.write({ name: 'Bram', contact: '', notes: '' })
  record.change('rename', (draft) => void (draft.name = 'Ina'))
  await later()
  expect([record.saving, service.person.name, record.form.name]).toEqual(['conflict', 'Bram', 'Ina'])
  if (whose === 'mine') record.keepMine()
  else record.takeTheirs()
  await later()
  expect([record.saving, service.person.name, record.form.name]).toEqual(['saved', stands, stands])
  if (whose === 'mine') return
  record.undo()
  expect(record.form.name).toBe('Ina')
})

it('asks nothing where the other wrote the same, or only counted on', async () => {
  const record = await opened()
  service.write({ ...service.person })
  record.change('rename', (draft) => void (draft.name = 'Ina'))
  await later(3000)
  expect([record.saving, service.person.name]).toEqual(['saved', 'Ina'])
})

it('follows another tab that saved, as a step to go back', async () => {
  const record = await opened()
  const other = await opened()
  other.change('rename', (draft) => void (draft.name = 'Ina'))
  await later()
  vi.useRealTimers()
  await vi.waitFor(() => expect(record.form.name).toBe('Ina'))
  record.undo()
  expect(record.form.name).toBe('Ines')
})
