/** The names of kinds and states of kit. */
import type { SchemaKit } from '../api/schema'
import { type Key, say } from '../words'

export type KitKind = SchemaKit['kind']
export type KitState = NonNullable<SchemaKit['state']>

export const KINDS: readonly KitKind[] = ['set', 'probe', 'shovel']
export const STATES: readonly KitState[] = ['in use', 'to check', 'out of use', 'retired']

const KIND: Record<KitKind, Key> = { set: 'kit.set', probe: 'kit.probe', shovel: 'kit.shovel' }
const STATE: Record<KitState, Key> = { 'in use': 'kit.inUse', 'to check': 'kit.toCheck', 'out of use': 'kit.outOfUse', retired: 'kit.retired' }

export const ofKind = (kind: string): string => (kind in KIND ? say(KIND[kind as KitKind]) : kind)
export const ofState = (state: string): string => (state in STATE ? say(STATE[state as KitState]) : state)
