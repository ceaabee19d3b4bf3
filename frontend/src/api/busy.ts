/** Repeat writes that were refused because the records were busy with another change. */
export const BUSY = 'urn:coldfield:busy'

/** The most repeats of a write; the service itself waits up to two seconds each time. */
const MOST_TRIES = 40
const AGAIN_MS = 1_000

type Listener = (waiting: number) => void
const listeners = new Set<Listener>()
let waiting = 0

/** Listen for the number of writes being repeated; returns a function that stops listening. */
export function onBusy(listener: Listener): () => void {
  listeners.add(listener)
  return () => listeners.delete(listener)
}

function note(more: number): void {
  waiting += more
  for (const listener of listeners) listener(waiting)
}

/** Whether an answer says that the records are busy. */
export const saysBusy = (status: number, body: unknown): boolean => status === 503 && (body as { type?: unknown } | null)?.type === BUSY

/** The same for an answer whose body has not been read; the body can still be read afterwards. */
export async function isBusy(response: Response): Promise<boolean> {
  return response.status === 503 && saysBusy(503, await response.clone().json().catch(() => null))
}

/** Send until the records are no longer busy; after about two minutes, return the last answer. */
export async function whileBusy<A>(send: () => Promise<A>, busy: (answer: A) => boolean | Promise<boolean>, stopped: () => boolean = () => false): Promise<A> {
  let answer = await send()
  if (!(await busy(answer))) return answer
  note(1)
  try {
    for (let tries = 1; tries < MOST_TRIES && !stopped(); tries += 1) {
      await new Promise((done) => setTimeout(done, AGAIN_MS))
      if (stopped()) break
      answer = await send()
      if (!(await busy(answer))) break
    }
    return answer
  } finally {
    note(-1)
  }
}
