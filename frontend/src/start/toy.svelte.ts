/** A drill to try, with undo; it is not kept. */
import type { SchemaDrillPart } from '../api/schema'
import { Undoing } from '../api/undoing.svelte'

interface Form {
  document: SchemaDrillPart
}

export class Toy extends Undoing<Form> {
  private current = $state.raw<Form>({ document: {} as SchemaDrillPart })

  constructor(document: SchemaDrillPart) {
    super()
    this.current = { document }
  }

  get form(): Form {
    return this.current
  }

  hold(on: boolean): void {
    if (!on) this.history.endGesture()
  }

  protected put(form: Form): void {
    this.current = form
    this.label()
  }
}
