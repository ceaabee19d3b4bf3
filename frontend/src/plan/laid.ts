/** A picture placed under a plan. */
export interface Laid {
  address: string
  width_px: number
  height_px: number
  /** a, b, c, d, e, f: column x and row y are a x + b y + c metres east and d x + e y + f metres north. */
  matrix: readonly number[]
  /** Opacity, 0 to 1. */
  shown: number
}

interface Kept {
  id: string
  width_px: number
  height_px: number
  matrix?: readonly number[] | null
}

/** A kept picture with its position and opacity; null if it has no position or is hidden. */
export function laidOf(kept: Kept | null, shown: number): Laid | null {
  if (!kept?.matrix || shown <= 0) return null
  const { id, width_px, height_px, matrix } = kept
  return { address: `/api/pictures/${id}/file`, width_px, height_px, matrix, shown }
}
