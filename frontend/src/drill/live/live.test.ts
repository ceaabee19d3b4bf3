import { flushSync } from 'svelte'
import { expect, it, vi } from 'vitest'

import type { SchemaLiveAnswer } from '../../api/schema'
import { complete, type DrillDocument } from '../document'
import { corrected, Live, Pace, type Asking } from './live.svelte'

const drill = (depth_m: number, name = 'x', position_m = [2, 1]): DrillDocument =>
  complete({
    format: 'coldfield-drill/1',
    name,
    site: { origin: { latitude_deg: 61, longitude_deg: 8, elevation_m: 0 }, boundary_m: [[0, 0], [9, 0], [9, 9]], entry_m: [1, 1] },
    burials: [{ id: 'A', position_m, depth_m, antenna: { azimuth_deg: 0, tilt_deg: 0 }, transmitter: { field_at_10m_ua_per_m: 1, period_s: 1, pulse_s: 0.1, phase_s: 0 } }],
    searchers: [{ id: 's1', name: 'Ines', receiver: { coaxial_range_m: 45 } }],
  } as never)

interface Put {
  depth: number
  settled: boolean
  signal: AbortSignal
  tell: (runs: number) => Promise<void>
}

/** A service that answers when the test says so. */
function service(): { put: Put[]; asking: Asking } {
  const put: Put[] = []
  const asking: Asking = (document, settled, signal) =>
    new Promise((resolve) => {
      put.push({
        depth: document.burials[0]?.depth_m ?? 0,
        settled,
        signal,
        tell: async (runs) => {
          resolve({ runs, settled, all_clear: { seconds: {}, unsure: {} } } as SchemaLiveAnswer)
          await vi.waitFor(() => undefined)
          await Promise.resolve()
        },
      })
    })
  return { put, asking }
}

it('asks for few runs, and for all of them once nothing moves', async () => {
  const { put, asking } = service()
  const live = new Live(asking)
  live.follow(drill(1))
  expect(put.map((one) => [one.depth, one.settled])).toEqual([[1, false]])
  await put[0]?.tell(200)
  flushSync()
  expect(live.value?.runs).toBe(200)
  expect(live.settled).toBe(false)
  expect(put.map((one) => one.settled)).toEqual([false, true])
  await put[1]?.tell(2000)
  expect(live.settled).toBe(true)
})

it('asks of what comes meanwhile only for the newest, and never goes back to an older answer', async () => {
  const { put, asking } = service()
  const live = new Live(asking)
  for (const depth of [1, 1.1, 1.2, 1.3]) live.follow(drill(depth))
  expect(put.map((one) => one.depth)).toEqual([1])
  await put[0]?.tell(200)
  expect(live.behind).toBe(true)
  expect(put.map((one) => [one.depth, one.settled])).toEqual([[1, false], [1.3, false]])
  await put[1]?.tell(200)
  expect(live.behind).toBe(false)
})

it('drops what settles once the drill moves on, and its late answer changes nothing', async () => {
  const { put, asking } = service()
  const live = new Live(asking)
  live.follow(drill(1))
  await put[0]?.tell(200)
  live.follow(drill(2))
  expect(put[1]?.signal.aborted).toBe(true)
  expect(put.map((one) => [one.depth, one.settled])).toEqual([[1, false], [1, true], [2, false]])
  await put[2]?.tell(201)
  await put[1]?.tell(2000)
  expect(live.value?.runs).toBe(201)
  expect(live.settled).toBe(false)
})

it('does not ask again for another name, and asks for nothing without burials', async () => {
  const { put, asking } = service()
  const live = new Live(asking)
  live.follow(drill(1))
  live.follow(drill(1, 'other'))
  expect(put).toHaveLength(1)
  await put[0]?.tell(200)
  live.follow({ ...drill(1), burials: [] })
  expect(live.value).toBeNull()
  expect(live.status).toBe('none')
})

it('takes from few runs what has changed, and from all runs where it stood', () => {
  const band = (p10: number | null, p50: number, p90: number | null): never => ({ p10, p50, p90 }) as never
  const answer = (settled: boolean, seconds: never): SchemaLiveAnswer =>
    ({ runs: settled ? 2000 : 200, settled, all_clear: { seconds, unsure: seconds } }) as unknown as SchemaLiveAnswer
  const anchor = { few: answer(false, band(300, 500, 900)), all: answer(true, band(320, 520, 960)) }
  expect(corrected(answer(false, band(310, 540, 1000)), anchor).all_clear.seconds).toEqual({ p10: 330, p50: 560, p90: 1060 })
  expect(corrected(answer(false, band(300, 500, 900)), anchor).all_clear).toEqual(anchor.all.all_clear)
  // Beyond the horizon, never below the lower end, and unchanged if there is nothing to compare.
  expect(corrected(answer(false, band(310, 540, null)), anchor).all_clear.seconds.p90).toBeNull()
  expect(corrected(answer(false, band(310, 540, 100)), anchor).all_clear.seconds.p90).toBe(560)
  expect(corrected(answer(false, band(1, 2, 3)), null).all_clear.seconds).toEqual({ p10: 1, p50: 2, p90: 3 })
  expect(corrected(answer(true, band(1, 2, 3)), anchor).all_clear.seconds).toEqual({ p10: 1, p50: 2, p90: 3 })
})

it('asks nothing while a burial lies off the ground', async () => {
  const { put, asking } = service()
  const live = new Live(asking)
  live.follow(drill(1, 'x', [1, 5]))
  expect([put.length, live.status, live.behind]).toEqual([0, 'refused', true])
  live.follow(drill(1))
  await put[0]?.tell(200)
  flushSync()
  expect([put[0]?.signal.aborted, live.status, live.behind]).toEqual([false, 'shown', false])
})

it('asks for fewer runs where three answers in a row take long, and for more once they are quick', () => {
  const pace = new Pace()
  const after = (...ms: number[]): number => (ms.forEach((one) => pace.took(one)), pace.runs)
  expect(after()).toBe(200)
  expect(after(400, 400, 90, 400, 400)).toBe(200)
  expect(after(400)).toBe(100)
  expect(after(400, 400, 400, 400, 400, 400)).toBe(60)
  expect(after(20, 20, 20)).toBe(100)
  expect(after(20, 20, 20, 20, 20, 20)).toBe(200)
})
