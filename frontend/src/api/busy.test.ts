import { afterEach, beforeEach, expect, it, vi } from 'vitest'

import { BUSY, onBusy } from './busy'
import { askRaw, Problem } from './client'

const busy = (): Response => new Response(JSON.stringify({ type: BUSY, status: 503, detail: 'busy', faults: [] }), { status: 503 })
const kept = (): Response => new Response('{}', { status: 200 })

beforeEach(() => void vi.useFakeTimers())
afterEach(() => {
  vi.useRealTimers()
  vi.unstubAllGlobals()
})

it('sends a write again while the records are busy, and says so meanwhile', async () => {
  const fetched = vi.fn().mockResolvedValueOnce(busy()).mockResolvedValueOnce(busy()).mockResolvedValueOnce(kept())
  vi.stubGlobal('fetch', fetched)
  const told: number[] = []
  const deaf = onBusy((waiting) => told.push(waiting))
  const answer = askRaw('/api/people/ines', { method: 'PUT', body: '{"name":"Ines"}' })
  await vi.advanceTimersByTimeAsync(2_500)
  expect((await answer).status).toBe(200)
  expect(fetched.mock.calls.map(([, options]) => (options as RequestInit).body)).toEqual(Array(3).fill('{"name":"Ines"}'))
  expect(told).toEqual([1, 0])
  deaf()
})

it('sends a request with a body of its own again, whole', async () => {
  const bodies: string[] = []
  const answers = [busy(), kept()]
  vi.stubGlobal('fetch', async (request: Request) => {
    bodies.push(await request.text())
    return answers.shift()
  })
  const answer = askRaw(new Request('http://127.0.0.1/api/people/ines', { method: 'PUT', body: 'all of it' }))
  await vi.advanceTimersByTimeAsync(1_500)
  expect((await answer).status).toBe(200)
  expect(bodies).toEqual(['all of it', 'all of it'])
})

it('gives up in the end and hands on what the service says; what fails otherwise is not sent again', async () => {
  const fetched = vi.fn().mockImplementation(() => Promise.resolve(busy()))
  vi.stubGlobal('fetch', fetched)
  const answer = askRaw('/api/people/ines', { method: 'PUT' }).catch((error: unknown) => error)
  await vi.advanceTimersByTimeAsync(60_000)
  expect(await answer).toBeInstanceOf(Problem)
  expect(fetched.mock.calls.length).toBe(40)
  const other = vi.fn().mockResolvedValue(new Response('{"detail":"the disk is full"}', { status: 507 }))
  vi.stubGlobal('fetch', other)
  await expect(askRaw('/api/people/ines', { method: 'PUT' })).rejects.toBeInstanceOf(Problem)
  expect(other.mock.calls.length).toBe(1)
})
