/** The name of a person's role in a course. */
import type { SchemaParticipant } from '../api/schema'
import { type Key, say } from '../words'

export type Role = NonNullable<SchemaParticipant['role']>
export const ROLES: readonly Role[] = ['participant', 'instructor', 'helper']

const WORDS: Record<Role, Key> = { participant: 'role.participant', instructor: 'role.instructor', helper: 'role.helper' }

export const ofRole = (role: string): string => (role in WORDS ? say(WORDS[role as Role]) : role)
