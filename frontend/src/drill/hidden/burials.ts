/** A burial on the plan and in words, and its antenna's direction from a handle. */
import type { Point } from '../../plan/point'
import { say, type Key } from '../../words'
import { decimal } from '../fields/numbers'
import { TRANSMITTER, type Antenna, type Burial, type DrillDocument } from '../document'

export const MOST_BURIALS = 20
/** Slightly different periods, like those of real sets; equal ones would overlap for ever. */
const PERIODS_S = [1, 0.93, 1.07, 0.89, 1.11, 0.96, 1.03]

/** The first free letter, then B2, B3 ... */
export function freeId(taken: readonly string[]): string {
  for (let round = 1; ; round++) {
    for (const letter of 'ABCDEFGHIJKLMNOPQRSTUVWXYZ') {
      const id = round === 1 ? letter : `${letter}${round}`
      if (!taken.includes(id)) return id
    }
  }
}

/** Median burial depth in accidents, m (Haegeli and others 2011, seen quoted), and the spread of depths: a setting. */
const [MEDIAN_M, DEPTH_SIGMA] = [0.8, 0.35]

/** A random depth and direction, so that the burials of a drill differ. */
function drawn(draw: () => number): Pick<Burial, 'depth_m' | 'antenna'> {
  const normal = Math.sqrt(-2 * Math.log(1 - draw())) * Math.cos(2 * Math.PI * draw())
  const depth_m = Math.min(1.8, Math.max(0.4, Math.round(10 * MEDIAN_M * Math.exp(DEPTH_SIGMA * normal)) / 10))
  // All directions in three dimensions are equally likely.
  const tilt_deg = 5 * Math.round((Math.asin(2 * draw() - 1) * 36) / Math.PI)
  return { depth_m, antenna: { azimuth_deg: 5 * Math.floor(draw() * 72), tilt_deg } }
}

/** A new burial: a sack with a set and a free name; depth and direction are drawn at random. */
export function newBurial(place: Point, { burials }: DrillDocument, taken: readonly string[] = [], draw: () => number = Math.random): Burial {
  return {
    id: freeId([...taken, ...burials.map(({ id }) => id)]),
    position_m: tenths(place),
    ...drawn(draw),
    transmitter: { ...TRANSMITTER, period_s: PERIODS_S[burials.length % PERIODS_S.length] ?? 1 },
    body_azimuth_deg: null,
    outline: 'sack',
    set: null,
  }
}

/** Places on the plan are rounded to a tenth of a metre. */
export const tenths = ([east, north]: Point): Point => [Math.round(east * 10) / 10, Math.round(north * 10) / 10]

export const clockwise = (degrees: number): number => ((degrees % 360) + 360) % 360

/** The direction from one place to another, clockwise from north, rounded to a step. */
export function azimuthTo(from: Point, to: Point, step_deg: number): number {
  const azimuth = (Math.atan2(to[0] - from[0], to[1] - from[1]) * 180) / Math.PI
  return clockwise(Math.round(azimuth / step_deg) * step_deg)
}

/** Pixels from a burial to the handle that turns it, and to the one that tilts it. */
export const TURN_PX = 46
const TILT_PX = { upright: 16, level: 46 }

/** The distance of the tilt handle: the rod as seen from above, never on the burial itself. */
export function tiltHandle_px(tilt_deg: number): number {
  return TILT_PX.upright + (TILT_PX.level - TILT_PX.upright) * Math.cos((tilt_deg * Math.PI) / 180)
}

/** The tilt for a distance of the handle; the sign stays. */
export function tiltAt(distance_px: number, before_deg: number, step_deg: number): number {
  const share = (distance_px - TILT_PX.upright) / (TILT_PX.level - TILT_PX.upright)
  const tilt = (Math.acos(Math.min(1, Math.max(0, share))) * 180) / Math.PI
  return Math.round(tilt / step_deg) * step_deg * (before_deg < 0 ? -1 : 1)
}

const AXES: readonly Key[] = ['axis.0', 'axis.1', 'axis.2', 'axis.3', 'axis.4', 'axis.5', 'axis.6', 'axis.7']

/** 'level, north-east to south-west', 'tilted 40°, ...', 'upright'. */
export function antennaWords({ antenna }: Burial): string {
  if (!antenna) return ''
  const tilt = Math.abs(antenna.tilt_deg)
  if (tilt >= 80) return say('burial.upright')
  const axis = say(AXES[Math.round(clockwise(antenna.azimuth_deg) / 22.5) % 8] ?? 'axis.0')
  return tilt < 10 ? say('burial.level', { axis }) : say('burial.tilted', { tilt: decimal(tilt, 0), axis })
}

/** 'south-south-west': one of sixteen. */
export const pointWords = (azimuth_deg: number): string => say(`point.${Math.round(clockwise(azimuth_deg) / 22.5) % 16}` as Key)

/** 'Antenna towards south-south-west, 20° up.' */
export function rodWords({ azimuth_deg, tilt_deg }: Antenna): string {
  const way = pointWords(azimuth_deg)
  const tilt = Math.round(Math.abs(tilt_deg))
  if (tilt < 1) return say('burial.pointsLevel', { way })
  return say('burial.points', { way, tilt, up: say(tilt_deg > 0 ? 'burial.up' : 'burial.down') })
}

/** One line about a burial, for its table and for screen readers. */
export function burialWords(burial: Burial): string {
  const words = { depth: decimal(burial.depth_m, 2), antenna: antennaWords(burial) }
  return burial.transmitter ? say('burial.withSet', words) : say('burial.withoutSet', words)
}
