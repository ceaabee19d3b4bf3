/** Send a recorded track to the hut. */
import type { Phone } from '../store'
import type { Joined } from './code'

export type Sent = 'there' | 'no answer' | 'code' | 'not taken'

/** Send a file; 'there' only once the hut has received all of it. */
export async function sendTrack(one: Joined, file: File, about: { searcher: string; phone: Phone }): Promise<Sent> {
  const { phone, searcher } = about
  const told = new URLSearchParams({ file_name: file.name.slice(-200) || 'track', searcher, name: phone.name, keeper: phone.keeper })
  try {
    const answer = await fetch(`/api/hut/track?${told.toString()}`, {
      method: 'POST',
      headers: { 'content-type': 'application/octet-stream', 'x-coldfield-code': one.code, 'x-coldfield-phone': phone.id },
      body: file,
    })
    if (answer.ok) return 'there'
    if (answer.status === 401) return 'code'
    return answer.status === 422 || answer.status === 413 ? 'not taken' : 'no answer'
  } catch {
    return 'no answer'
  }
}
