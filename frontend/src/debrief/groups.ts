/** The findings in three groups: what cost minutes, what was good, what was noted. */
import type { Finding } from './document'

export const GROUPS = ['cost', 'good', 'noted'] as const
export type Group = (typeof GROUPS)[number]

export interface Numbered {
  finding: Finding
  /** Its place in the whole list, as the address and the plan count. */
  index: number
}

/** The group that the program put a finding in. */
export function groupOf({ group, praise, minutes }: Finding): Group {
  return GROUPS.find((one) => one === group) ?? (praise ? 'good' : minutes ? 'cost' : 'noted')
}

/** The groups that have findings, each with its own. */
export function grouped(findings: readonly Finding[]): { group: Group; members: Numbered[] }[] {
  const all = findings.map((finding, index): Numbered => ({ finding, index }))
  return GROUPS.map((group) => ({ group, members: all.filter(({ finding }) => groupOf(finding) === group) })).filter(
    ({ members }) => members.length,
  )
}
