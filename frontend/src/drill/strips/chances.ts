/** A chance with suitable digits: '97 %', '99.6 %' near one, and never 100 % by rounding. */
import { say } from '../../words'
import { decimal } from '../fields/numbers'

export function chances(share: number | null | undefined): string {
  if (share === null || share === undefined) return say('none.value')
  const shown = share > 0.99 ? Math.floor(share * 1000) / 10 : Math.round(share * 100)
  return say('unit.percent', { n: share > 0.9995 ? `> ${decimal(99.9, 1)}` : decimal(shown, 1) })
}
