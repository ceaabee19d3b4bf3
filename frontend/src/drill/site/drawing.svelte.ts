/** A ring that is being drawn on the plan, corner by corner. */
import type { Point } from '../../plan/point'
import { distance_m } from '../../plan/polyline'
import { say } from '../../words'
import { tenths } from '../hidden/burials'
import type { DrillState } from '../state.svelte'

const CLOSE_PX = 14

class Drawing {
  corners = $state.raw<readonly Point[]>([])

  /** Draw a ring; it is done with a press on its first corner, or Enter. */
  begin(drill: DrillState, done: (ring: Point[]) => void): void {
    this.corners = []
    const finish = (): void => {
      if (this.corners.length < 3) return
      drill.tool = null
      done([...this.corners])
      this.corners = []
    }
    drill.tool = {
      name: 'ring',
      words: say('site.drawing'),
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
