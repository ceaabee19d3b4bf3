/** Send a large file and be told how far it is. */
import { problemOf, Unreachable } from '../api/client'

export interface Sending<Answer> {
  answer: Promise<Answer>
  stop: () => void
}

/** Send a file as the body of a POST; `progress` is told the share that is sent. */
export function send<Answer>(address: string, file: Blob, progress: (share: number) => void): Sending<Answer> {
  const request = new XMLHttpRequest()
  const answer = new Promise<Answer>((resolve, reject) => {
    request.upload.onprogress = ({ loaded, total }) => progress(total ? loaded / total : 0)
    request.onerror = () => reject(new Unreachable())
    request.onabort = () => reject(new DOMException('stopped', 'AbortError'))
    request.onload = () => {
      const body: unknown = plain(request.responseText)
      if (request.status >= 200 && request.status < 300) resolve(body as Answer)
      else reject(problemOf(request.status, body))
    }
    request.open('POST', address)
    request.setRequestHeader('content-type', 'application/octet-stream')
    request.send(file)
  })
  return { answer, stop: () => request.abort() }
}

function plain(text: string): unknown {
  try {
    return JSON.parse(text)
  } catch {
    return null
  }
}
