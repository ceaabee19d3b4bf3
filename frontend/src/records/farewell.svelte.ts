/** What the last forgetting did, for as long as something of it is left to look at. */
import type { SchemaFarewellTold } from '../api/schema'

class Farewell {
  told = $state.raw<SchemaFarewellTold | null>(null)

  /** Keep it where something is left; returns whether there is. */
  keep(told: SchemaFarewellTold): boolean {
    const left = told.to_look_at.length + told.left_elsewhere.length
    const copies = told.copies_that_still_hold_the_person.length + told.copies_that_cannot_be_searched.length
    this.told = left + copies ? told : null
    return this.told !== null
  }
}

export const farewell = new Farewell()
