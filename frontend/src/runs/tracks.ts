/** Texts about the recorded tracks of a run. */
import type { SchemaGatheredTrack, SchemaTrackInside } from '../api/schema'
import { type Key, say } from '../words'
import { clock, duration, metres } from '../words/format'

type Track = SchemaGatheredTrack

/** Marked as belonging to nobody; a debrief leaves it out. */
export const leftOut = (track: Track): boolean =>
  track.matched === 'told' && !track.searcher && !(track.parts ?? []).some(Boolean)

/** Not assigned yet, or assigned only because nobody else was left; a person should check. */
export const toCheck = (track: Track): boolean =>
  track.measured && !leftOut(track) && (track.matched === 'left over' || (!track.searcher && !(track.parts ?? []).some(Boolean)))

const MATCHED: Record<string, Key> = {
  told: 'run.tracks.told',
  'file name': 'run.tracks.byFile',
  'track name': 'run.tracks.byTrack',
  'left over': 'run.tracks.leftOver',
}

/** How the track's person is known. */
export function howKnown(track: Track): string {
  if (leftOut(track)) return say('run.tracks.leftOut')
  const key = track.matched ? MATCHED[track.matched] : undefined
  return say(key ?? (track.at_once ? 'run.tracks.twoPeople' : 'run.tracks.nobody'))
}

/** 'from 10:31 to 10:52 CET, 1,260 points, 480 m'. */
export function contents(inside: SchemaTrackInside): string {
  const from = clock(inside.from_utc)
  const to = clock(inside.to_utc)
  const when = inside.own_clock
    ? say('run.tracks.ownClock', { time: duration(inside.seconds) })
    : from && to
      ? say('run.tracks.fromTo', { day: from.day, from: from.time.replace(/ .*$/, ''), to: to.time })
      : say('run.tracks.noTimes')
  const length = inside.length_m === null ? '' : metres(inside.length_m)
  return [when, say('run.tracks.points', { n: inside.points }), length].filter(Boolean).join(', ')
}

const DAY_MS = 86_400_000

/** Whole days between a track and the run in the reader's time zone; 0 on the same day. */
export function daysApart(inside: SchemaTrackInside, held_utc: string): number {
  if (!inside.from_utc) return 0
  const midnight = (moment: string): number => new Date(moment).setHours(0, 0, 0, 0)
  return Math.round((midnight(inside.from_utc) - midnight(held_utc)) / DAY_MS)
}

/** '1.2 MB', '340 kB'. */
export function size(bytes: number): string {
  return bytes < 950_000
    ? say('run.tracks.kB', { n: Math.max(1, Math.round(bytes / 1000)) })
    : say('run.tracks.MB', { n: Math.round(bytes / 100_000) / 10 })
}
