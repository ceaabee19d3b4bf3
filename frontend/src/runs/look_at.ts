import { sayOr } from '../words'

/** What should be checked on a set, in words. */
export const lookAt = (one: { look_at?: readonly string[] }): string => (one.look_at ?? []).map((what) => sayOr(`look.${what}`, what)).join(', ')
