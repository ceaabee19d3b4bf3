/** Writes that find the records busy with another change: nothing of them was kept, so the same is sent again soon. */
export const BUSY = 'urn:coldfield:busy'

/** How often a write is sent again; each time the service lets it wait for two seconds itself. */
const MOST_TRIES = 40
const AGAIN_MS = 1_000

type Listener = (waiting: number) => void
const listeners = new Set<Listener>()
let waiting = 0

/** Be told how many writes are being sent again; returns what ends it. */
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

/** The same of an answer whose body is not read yet; it stays to be read. */
export async function isBusy(response: Response): Promise<boolean> {
  return response.status === 503 && saysBusy(503, await response.clone().json().catch(() => null))
}

/** Send until the records are not busy any more; after about two minutes their answer is given back. */
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
