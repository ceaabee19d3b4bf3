/** A place in metres east and north of the site's origin. */
export type Point = [east_m: number, north_m: number]
