/** The reader's text size relative to the default; layouts in pixels follow it. */
const USUAL_PX = 16
const PROBE_REM = 10

let times = $state(now())

function now(): number {
  if (typeof document === 'undefined') return 1
  return parseFloat(getComputedStyle(document.documentElement).fontSize) / USUAL_PX || 1
}

/** Watch a box whose width depends on the text size. */
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
