/** What this browser lets the clock do, tried here; what can only be tried by hand stays 'not tried'. */
export type Way = 'installed' | 'https' | 'machine' | 'http' | 'file'
export type Tried = 'works' | 'not here' | 'not tried'

export function wayHere(): Way {
  if (location.protocol === 'file:') return 'file'
  if (location.protocol === 'https:') return matchMedia('(display-mode: standalone)').matches ? 'installed' : 'https'
  return ['127.0.0.1', 'localhost', '[::1]'].includes(location.hostname) ? 'machine' : 'http'
}

/** The page beside the clock that reads and shows codes; a clock in one file has none. */
export const codesPage = document.querySelector<HTMLMetaElement>('meta[name="codes"]')?.content

/** Whether a file can be handed to the share sheet; without the person's press it is only asked. */
export function shareHere(ending: string): Tried {
  if (!('canShare' in navigator)) return 'not here'
  return navigator.canShare({ files: [new File(['x'], `x${ending}`, { type: 'text/plain' })] }) ? 'works' : 'not here'
}

export async function awakeHere(): Promise<Tried> {
  if (!('wakeLock' in navigator)) return 'not here'
  try {
    const lock = await navigator.wakeLock.request('screen')
    await lock.release()
    return 'works'
  } catch {
    return 'not here'
  }
}

/** The camera is only asked about: opening it asks the person. */
export function cameraHere(): Tried {
  return 'mediaDevices' in navigator ? 'not tried' : 'not here'
}

export function vibrationHere(): Tried {
  return 'vibrate' in navigator ? 'not tried' : 'not here'
}
