/** A picture as it lies under a plan. */
export interface Laid {
  address: string
  width_px: number
  height_px: number
  /** a, b, c, d, e, f: column x and row y lie a x + b y + c metres east and d x + e y + f metres north. */
  matrix: readonly number[]
  /** How strongly it shows, 0 to 1. */
  shown: number
}

interface Kept {
  id: string
  width_px: number
  height_px: number
  matrix?: readonly number[] | null
}

/** A kept picture as it lies, shown so strongly; null where nothing tells where it lies, or it is not to be seen. */
export function laidOf(kept: Kept | null, shown: number): Laid | null {
  if (!kept?.matrix || shown <= 0) return null
  const { id, width_px, height_px, matrix } = kept
  return { address: `/api/pictures/${id}/file`, width_px, height_px, matrix, shown }
}
