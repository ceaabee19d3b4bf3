/** Requests to the service, typed by its OpenAPI description; failures are a `Problem` or `Unreachable`. */
import { isMessage, type Said, saidText } from '../words'
import { wordsFor } from '../words/load'
import createClient from 'openapi-fetch'

import { isBusy, whileBusy } from './busy'
import type { paths } from './schema'

/** The service refused or failed: `faults` has one line for each fault, none if it gave no text. */
export class Problem extends Error {
  constructor(
    readonly status: number,
    readonly detail: string,
    readonly faults: readonly Said[],
    readonly storedVersion: number | null = null,
  ) {
    super(faults.map(saidText).join('\n') || detail)
    this.name = 'Problem'
  }

  /** Whether the same request may succeed later. */
  get passing(): boolean {
    return this.status >= 500
  }
}

/** The service did not answer at all. */
export class Unreachable extends Error {
  constructor() {
    super('unreachable')
    this.name = 'Unreachable'
  }
}

const LONGEST_MS = 60_000
/** Reading a season's archive takes minutes. */
const LONGEST_WITH_FILE_MS = 1_800_000

/** How soon to check whether the service answers again; longer each time it is lost within a minute. */
const [FIRST_LOOK_MS, LONGEST_LOOK_MS, CALM_MS] = [2_000, 15_000, 60_000]

type Listener = (reachable: boolean) => void
const listeners = new Set<Listener>()
let answers = true
let wait_ms = FIRST_LOOK_MS
let lost_ms = 0
let looking: ReturnType<typeof setTimeout> | undefined

/** Listen for the service being lost and answering again; returns a function that stops listening. */
export function onReachable(listener: Listener): () => void {
  listeners.add(listener)
  return () => listeners.delete(listener)
}

/** Check now whether the service answers; while it does not, this is repeated every few seconds. */
export async function look(): Promise<boolean> {
  clearTimeout(looking)
  await reach('/api/ready').catch(() => undefined)
  return answers
}

function note(answered: boolean): void {
  if (!answered) {
    clearTimeout(looking)
    looking = setTimeout(() => void look(), wait_ms)
  }
  if (answered === answers) return
  answers = answered
  if (!answered) {
    const now_ms = Date.now()
    wait_ms = now_ms - lost_ms > CALM_MS ? FIRST_LOOK_MS : Math.min(2 * wait_ms, LONGEST_LOOK_MS)
    lost_ms = now_ms
  }
  for (const listener of listeners) listener(answered)
}

/** Fetch from the service; every request of the app goes through here. Repeated while the records are busy. */
export async function reach(request: Request | string, options: RequestInit = {}): Promise<Response> {
  const signal = options.signal ?? (request instanceof Request ? request.signal : undefined)
  return whileBusy(
    () => once(request instanceof Request ? request.clone() : request, options),
    isBusy,
    () => signal?.aborted ?? false,
  )
}

async function once(request: Request | string, options: RequestInit): Promise<Response> {
  try {
    const late = AbortSignal.timeout(options.body instanceof Blob ? LONGEST_WITH_FILE_MS : LONGEST_MS)
    const own = options.signal ?? (request instanceof Request ? request.signal : undefined)
    const response = await fetch(request, { ...options, signal: own ? AbortSignal.any([own, late]) : late })
    note(true)
    return response
  } catch (error) {
    const stopped = options.signal?.aborted ?? (request instanceof Request && request.signal.aborted)
    if (stopped) throw error
    note(false)
    throw new Unreachable()
  }
}

export const api = createClient<paths>({
  baseUrl: typeof location === 'undefined' ? 'http://127.0.0.1' : location.origin,
  fetch: (request: Request) => reach(request),
})

interface Answer<Data> {
  data?: Data
  error?: unknown
  response: Response
}

/** Return the data of an answer: `const people = await ask(api.GET('/api/people'))`. */
export async function ask<Data>(answer: Promise<Answer<Data>>): Promise<Data> {
  const { data, error, response } = await answer
  if (!response.ok) throw await worded(response.status, error)
  return data as Data
}

/** Send a body that is not JSON; return the answer or throw the problem. */
export async function askRaw(request: Request | string, options: RequestInit = {}): Promise<Response> {
  const response = await reach(request, options)
  if (response.ok) return response
  throw await worded(response.status, await response.json().catch(() => null))
}

/** A problem with its messages in the page's language. */
export async function worded(status: number, body: unknown): Promise<Problem> {
  await wordsFor(body)
  return problemOf(status, body)
}

function problemOf(status: number, body: unknown): Problem {
  const told = (typeof body === 'object' && body !== null ? body : {}) as Record<string, unknown>
  const detail = typeof told['detail'] === 'string' ? told['detail'] : ''
  const faults: Said[] = Array.isArray(told['messages']) ? told['messages'].filter(isMessage) : []
  const stored = told['stored_version']
  return new Problem(status, detail, faults.length || !detail ? faults : [detail], typeof stored === 'number' ? stored : null)
}

/** A new random id for a record; made here, so that a repeated request changes nothing. */
export function newId(): string {
  // crypto.randomUUID needs a secure context; this does not.
  const bytes = crypto.getRandomValues(new Uint8Array(16))
  return [...bytes].map((byte) => byte.toString(16).padStart(2, '0')).join('')
}
