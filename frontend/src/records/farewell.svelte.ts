/** The result of the last forgetting, as long as something still has to be checked. */
import type { SchemaFarewellTold } from '../api/schema'

class Farewell {
  told = $state.raw<SchemaFarewellTold | null>(null)

  /** Keep the result if something has to be checked; returns whether it does. */
  keep(told: SchemaFarewellTold): boolean {
    const left = told.to_look_at.length + told.left_elsewhere.length
    const copies = told.copies_that_still_hold_the_person.length + told.copies_that_cannot_be_searched.length
    this.told = left + copies ? told : null
    return this.told !== null
  }
}

export const farewell = new Farewell()
