/** Messages between tabs of this app about changed records. */
interface Told {
  kind: string
  id: string
  version: number
}

const CHANNEL = 'coldfield'

/** Listen for changes to records of these kinds in other tabs; returns a function that stops listening. */
export function hear(kinds: readonly string[], then: () => void): () => void {
  const channel = new BroadcastChannel(CHANNEL)
  channel.onmessage = ({ data }: MessageEvent<Told>) => {
    if (kinds.includes(data.kind)) then()
  }
  return () => channel.close()
}

/** Tell other tabs that a record was created, changed, deleted or restored. */
export function tell(kind: string, id: string, version = 0): void {
  const channel = new BroadcastChannel(CHANNEL)
  channel.postMessage({ kind, id, version } satisfies Told)
  channel.close()
}
