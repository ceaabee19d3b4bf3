/** The items of the day file, as the program's own forms give them. */
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

/** A run that nothing is known of yet. */
export const bareRun = (id: string): Run => ({
  line: 'run', id, name: '', prepared: false, drill_id: null, drill_version: null, drill_name: '', burials: [], anchors: [],
  boundary_m: null, entry_m: null, searchers: [], own_splits: [], agreed_word: '', emergency_number: '', own_cautions: [], curve: null, picture: null,
})

/** What the store adds to every item. */
export type Stamp = 'line' | 'id' | 'phone' | 'n' | 'of' | 'wall_ms' | 'page' | 'since_page_ms'
/** An item before it is kept. */
export type Fresh<K extends Kind = Kind> = K extends Kind ? Omit<ItemOf<K>, Stamp> : never

/** The splits with a fixed meaning after the alarm, in their usual order. */
export const NEXT_SPLITS = ['first_signal', 'within_10_m', 'lowest_reading', 'probe_strike', 'airway_clear', 'set_out'] as const

export type SeenCode = NonNullable<ItemOf<'seen'>['about']>

/** Each code of the program's own form and no other, or the types do not fit; in the order of the page. */
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
