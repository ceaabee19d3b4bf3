/** What this browser lets the clock do, as tested here; what can only be tested by hand stays 'not tried'. */
export type Way = 'installed' | 'https' | 'machine' | 'http' | 'file'
export type Tried = 'works' | 'not here' | 'not tried'

export function wayHere(): Way {
  if (location.protocol === 'file:') return 'file'
  if (location.protocol === 'https:') return matchMedia('(display-mode: standalone)').matches ? 'installed' : 'https'
  return ['127.0.0.1', 'localhost', '[::1]'].includes(location.hostname) ? 'machine' : 'http'
}

/** The page beside the clock that reads and shows codes; a clock in a single file has none. */
export const codesPage = document.querySelector<HTMLMetaElement>('meta[name="codes"]')?.content

/** Whether a file can be passed to the share sheet; this only asks, without opening it. */
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

/** Only checks for a camera, because opening it would ask the person. */
export function cameraHere(): Tried {
  return 'mediaDevices' in navigator ? 'not tried' : 'not here'
}

export function vibrationHere(): Tried {
  return 'vibrate' in navigator ? 'not tried' : 'not here'
}
