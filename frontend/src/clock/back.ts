/** The day file for the laptop, with the runs and checks that the keeper chose. */
import { dayName, type Given, writeDayFile } from './day_file'
import { day, moment, waitingOf } from './day.svelte'

export const waiting = (): ReturnType<typeof waitingOf>[] =>
  [...day.byOf].map(([of, items]) => waitingOf(of, items, day.phone.id, day.nameOf(of))).sort((a, b) => b.day - a.day)

export function dayFile(ofs: readonly string[]): Given {
  const runs = ofs.flatMap((of) => day.run(of) ?? [])
  const items = ofs.flatMap((of) => [...day.of(of)].sort((a, b) => a.n - b.n))
  const now = moment().wall_ms
  const { id, name, keeper } = day.phone
  return { name: dayName(now, day.phone), text: writeDayFile({ made_ms: now, phone: { line: 'phone', id, name, keeper }, runs, items }) }
}

/** Note that the laptop has read all items up to a number; false if that could not be stored. */
export async function broughtBack(given: readonly { of: string; upto: number }[]): Promise<boolean> {
  let kept = true
  for (const { of, upto } of given) {
    if ((await day.add(of, { kind: 'brought', upto }, moment()).catch(() => null)) === null) kept = false
  }
  return kept
}
