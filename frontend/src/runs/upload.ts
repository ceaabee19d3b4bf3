/** Send a large file, with progress. */
import { saysBusy, whileBusy } from '../api/busy'
import { Unreachable, worded } from '../api/client'
import type { FollowedJob } from '../api/jobs.svelte'
import { outcome, type OnJob } from '../api/long'

export interface Sending<Answer> {
  answer: Promise<Answer>
  stop: () => void
}

interface Answered {
  status: number
  body: unknown
}

/** Send a file as the body of a POST; `progress` is called with the share sent, `onjob` with the job that the request becomes. */
export function send<Answer>(address: string, file: Blob, progress: (share: number) => void, onjob: OnJob): Sending<Answer> {
  let job: FollowedJob | null = null
  let request: XMLHttpRequest | null = null
  let stopped = false
  const once = (): Promise<Answered> => {
    request = new XMLHttpRequest()
    return sent(request, address, file, progress)
  }
  const answer = whileBusy(once, ({ status, body }) => saysBusy(status, body), () => stopped).then(async ({ status, body }) => {
    if (stopped) throw new DOMException('stopped', 'AbortError')
    if (status >= 200 && status < 300) {
      return outcome<Answer>(status, body, (became) => {
        job = became
        onjob(became)
      })
    }
    throw await worded(status, body)
  })
  const stop = (): void => {
    stopped = true
    request?.abort()
    void job?.cancel().catch(() => undefined)
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
