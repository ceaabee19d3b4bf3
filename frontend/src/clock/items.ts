/** The items of the day file, from the program's own forms. */
import type { components } from './day_schema'

type Forms = components['schemas']
export type Item = Forms['Item']
export type Kind = Item['kind']
export type ItemOf<K extends Kind> = Extract<Item, { kind: K }>
export type Run = Forms['RunLine']
export type Burial = Forms['CarriedBurial']
export type Person = Forms['CarriedPerson']
export type Curve = Forms['CarriedCurve']
export type PhoneLine = Forms['PhoneLine']
export type Head = Forms['HeadLine']
export type End = Forms['EndLine']
export type Place = NonNullable<ItemOf<'hidden'>['place']>
export type LookAt = ItemOf<'checked'>['look_at'][number]

/** A run of which nothing is known yet. */
export const bareRun = (id: string): Run => ({
  line: 'run', id, name: '', prepared: false, drill_id: null, drill_version: null, drill_name: '', burials: [], anchors: [],
  boundary_m: null, entry_m: null, searchers: [], own_splits: [], agreed_word: '', emergency_number: '', own_cautions: [], curve: null, picture: null,
})

/** The fields that the store adds to every item. */
export type Stamp = 'line' | 'id' | 'phone' | 'n' | 'of' | 'wall_ms' | 'page' | 'since_page_ms'
/** An item before it is stored. */
export type Fresh<K extends Kind = Kind> = K extends Kind ? Omit<ItemOf<K>, Stamp> : never

/** The splits with a fixed meaning after the alarm, in their usual order. */
export const NEXT_SPLITS = ['first_signal', 'within_10_m', 'lowest_reading', 'probe_strike', 'airway_clear', 'set_out'] as const

export type SeenCode = NonNullable<ItemOf<'seen'>['about']>

/** All codes of the program's own form, in the order of the page; the type check fails if one is missing or unknown. */
const CODES: Record<SeenCode, true> = {
  danger_looked_at: true,
  leader_named: true,
  missing_counted: true,
  call_made: true,
  others_off_transmit: true,
  phones_away: true,
  surface_clues: true,
  probe_left_in: true,
  diggers_placed: true,
  head_freed_by_hand: true,
}
export const SEEN = Object.keys(CODES) as SeenCode[]

export const TICKS = ['pits_filled', 'transmit_again', 'full_check'] as const
