/** A spacing for walking: whole metres, never wider than computed; as `walked_width_m` of the service. */
export const walked = (width_m: number): number => (width_m < 5 ? width_m : Math.floor(width_m))
