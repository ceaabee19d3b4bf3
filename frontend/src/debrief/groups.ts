/** The findings in three groups: what cost minutes, what was good, what was noted. */
import type { Finding } from './document'

export const GROUPS = ['cost', 'good', 'noted'] as const
export type Group = (typeof GROUPS)[number]

export interface Numbered {
  finding: Finding
  /** Its index in the whole list, as in the address and on the plan. */
  index: number
}

/** The group that the program put a finding in. */
export function groupOf({ group, praise, minutes }: Finding): Group {
  return GROUPS.find((one) => one === group) ?? (praise ? 'good' : minutes ? 'cost' : 'noted')
}

/** The groups that have findings, with their findings. */
export function grouped(findings: readonly Finding[]): { group: Group; members: Numbered[] }[] {
  const all = findings.map((finding, index): Numbered => ({ finding, index }))
  return GROUPS.map((group) => ({ group, members: all.filter(({ finding }) => groupOf(finding) === group) })).filter(
    ({ members }) => members.length,
  )
}
