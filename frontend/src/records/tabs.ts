/** What other tabs of this app say they changed. */
interface Told {
  kind: string
  id: string
  version: number
}

const CHANNEL = 'coldfield'

/** Be told when another tab changes a record of these kinds; returns what ends it. */
export function hear(kinds: readonly string[], then: () => void): () => void {
  const channel = new BroadcastChannel(CHANNEL)
  channel.onmessage = ({ data }: MessageEvent<Told>) => {
    if (kinds.includes(data.kind)) then()
  }
  return () => channel.close()
}

/** Tell other tabs that a record was made, changed, deleted or brought back. */
export function tell(kind: string, id: string, version = 0): void {
  const channel = new BroadcastChannel(CHANNEL)
  channel.postMessage({ kind, id, version } satisfies Told)
  channel.close()
}
