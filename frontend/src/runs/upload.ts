/** Send a large file and be told how far it is. */
import { BUSY, whileBusy } from '../api/busy'
import { problemOf, Unreachable } from '../api/client'

export interface Sending<Answer> {
  answer: Promise<Answer>
  stop: () => void
}

interface Answered {
  status: number
  body: unknown
}

/** Send a file as the body of a POST; `progress` is told the share that is sent. */
export function send<Answer>(address: string, file: Blob, progress: (share: number) => void): Sending<Answer> {
  let request: XMLHttpRequest | null = null
  let stopped = false
  const once = (): Promise<Answered> => {
    request = new XMLHttpRequest()
    return sent(request, address, file, progress)
  }
  const busy = ({ status, body }: Answered): boolean => status === 503 && (body as { type?: unknown } | null)?.type === BUSY
  const answer = whileBusy(once, busy, () => stopped).then(({ status, body }) => {
    if (stopped) throw new DOMException('stopped', 'AbortError')
    if (status >= 200 && status < 300) return body as Answer
    throw problemOf(status, body)
  })
  const stop = (): void => {
    stopped = true
    request?.abort()
  }
  return { answer, stop }
}

function sent(request: XMLHttpRequest, address: string, file: Blob, progress: (share: number) => void): Promise<Answered> {
  return new Promise((resolve, reject) => {
    request.upload.onprogress = ({ loaded, total }) => progress(total ? loaded / total : 0)
    request.onerror = () => reject(new Unreachable())
    request.onabort = () => reject(new DOMException('stopped', 'AbortError'))
    request.onload = () => resolve({ status: request.status, body: plain(request.responseText) })
    request.open('POST', address)
    request.setRequestHeader('content-type', 'application/octet-stream')
    request.send(file)
  })
}

function plain(text: string): unknown {
  try {
    return JSON.parse(text)
  } catch {
    return null
  }
}
