/** What a person does at a moment, in a few words. */
import { say, sayOr } from '../words'
import { wholeMetres, metres } from '../words/format'
import type { Person } from './people'
import { hearingKnown, idleAt, nearestHeard, phaseAt, positionAt } from './replay'

export function doing(person: Person, t_s: number): string {
  const { searcher } = person
  const phase = phaseAt(searcher, t_s)
  if (phase) {
    const of = phase.burial && phase.phase !== 'signal' ? say('now.of', { id: phase.burial }) : ''
    const known = sayOr(`now.${phase.phase}`, '')
    return known ? known.replace('{of}', of) : say('now.other', { phase: phase.phase, of })
  }
  if (idleAt(searcher, t_s)) return say('now.idle')
  if (!person.pieces.length) return searcher.phases.length ? '' : say('now.noTrack')
  if (t_s < (person.pieces[0]?.t_s[0] ?? 0)) return say('now.notYet')
  if (t_s > (person.pieces.at(-1)?.t_s.at(-1) ?? 0)) return say('now.over')
  return positionAt(person.pieces, t_s) ? '' : say('now.noPosition')
}

/** What a searching person reads; empty for people who wait, probe or dig. */
export function reading(person: Person, t_s: number): string {
  if (!positionAt(person.pieces, t_s)) return ''
  const phase = phaseAt(person.searcher, t_s)?.phase
  if (phase === 'probe' || phase === 'dig' || (!phase && idleAt(person.searcher, t_s))) return ''
  const nearest = nearestHeard(person.searcher, t_s)
  if (nearest) {
    const words = nearest.reading_m < 10 ? metres(nearest.reading_m) : wholeMetres(nearest.reading_m)
    return say('now.reads', { reading: words })
  }
  return hearingKnown(person.searcher, t_s) ? say('now.hearsNothing') : ''
}
