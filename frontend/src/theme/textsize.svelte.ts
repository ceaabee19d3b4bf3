/** How much larger than usual the reader has text shown: what is laid out in pixels follows it. */
const USUAL_PX = 16
const PROBE_REM = 10

let times = $state(now())

function now(): number {
  if (typeof document === 'undefined') return 1
  return parseFloat(getComputedStyle(document.documentElement).fontSize) / USUAL_PX || 1
}

/** A box as wide as some letters are: it changes when the size of text does. */
function watch(): void {
  const probe = document.createElement('div')
  probe.ariaHidden = 'true'
  Object.assign(probe.style, { position: 'absolute', visibility: 'hidden', width: `${PROBE_REM}rem`, height: '0' })
  document.body.append(probe)
  new ResizeObserver(() => (times = now())).observe(probe)
}

if (typeof document !== 'undefined' && typeof ResizeObserver !== 'undefined') watch()

export const textSize = {
  get times(): number {
    return times
  },
}
