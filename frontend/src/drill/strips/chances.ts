/** A chance with the digits that matter: '97 %', '99.6 %' near one, never a full hundred that is not known. */
import { say } from '../../words'
import { decimal } from '../fields/numbers'

export function chances(share: number | null | undefined): string {
  if (share === null || share === undefined) return say('none.value')
  const shown = share > 0.99 ? Math.floor(share * 1000) / 10 : Math.round(share * 100)
  return say('unit.percent', { n: share > 0.9995 ? `> ${decimal(99.9, 1)}` : decimal(shown, 1) })
}
