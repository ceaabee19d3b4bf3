/** Keep the screen on during a run, and vibrate briefly, if the phone can. */
let lock: WakeLockSentinel | null = null
let wanted = false

export function stayAwake(): void {
  wanted = true
  void hold()
}

export function mayRest(): void {
  wanted = false
  void lock?.release().catch(() => null)
  lock = null
}

async function hold(): Promise<void> {
  if (!wanted || document.hidden || (lock && !lock.released)) return
  lock = (await navigator.wakeLock?.request('screen').catch(() => null)) ?? null
}

document.addEventListener('visibilitychange', () => void hold())

export function buzz(): void {
  try {
    navigator.vibrate?.(80)
  } catch {
    // The press is recorded anyway.
  }
}
