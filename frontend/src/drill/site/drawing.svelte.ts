/** A ring that is being drawn on the plan, corner by corner. */
import type { Point } from '../../plan/point'
import { distance_m } from '../../plan/polyline'
import { say } from '../../words'
import { tenths } from '../hidden/burials'
import type { DrillState } from '../state.svelte'
import { crosses } from './rings'

const CLOSE_PX = 14

class Drawing {
  corners = $state.raw<readonly Point[]>([])
  /** Whether the line drawn so far crosses itself, and whether the side that closes it would. */
  readonly crossed = $derived(crosses(this.corners, false))
  private readonly closesCrossed = $derived(crosses(this.corners))
  /** Whether closing it was refused because it would have crossed. */
  private refused = $state(false)

  /** What to do now. */
  private get words(): string {
    if (this.crossed) return say('site.crossed')
    return say(this.refused && this.closesCrossed ? 'site.closesCrossed' : 'site.drawing')
  }

  /** Draw a ring; a press on its first corner, or Enter, finishes it. */
  begin(drill: DrillState, done: (ring: Point[]) => void): void {
    this.corners = []
    this.refused = false
    const finish = (): void => {
      if (this.corners.length < 3) return
      if (this.closesCrossed) return void (this.refused = true)
      drill.tool = null
      done([...this.corners])
      this.corners = []
    }
    const words = (): string => this.words
    drill.tool = {
      name: 'ring',
      get words() {
        return words()
      },
      press: (place) => {
        const [first] = this.corners
        const closes = first && this.corners.length > 2 && distance_m(first, place) * drill.view.scale < CLOSE_PX
        if (closes) finish()
        else this.corners = [...this.corners, tenths(place)]
      },
      finish,
      back: () => (this.corners = this.corners.slice(0, -1)),
    }
  }
}

const drawings = new WeakMap<DrillState, Drawing>()

export function drawing(drill: DrillState): Drawing {
  const known = drawings.get(drill) ?? new Drawing()
  drawings.set(drill, known)
  return known
}
