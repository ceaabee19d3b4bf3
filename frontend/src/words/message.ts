/** A message as the service gives it: a code, typed values, a place. Its words are in the catalogue. */
export interface Quantity {
  readonly kind: 'number' | 'duration' | 'about' | 'cost' | 'length' | 'area' | 'speed' | 'share' | 'angle' | 'times' | 'size' | 'day'
  readonly value: number | string
  readonly decimals?: number | null
}

export interface Message {
  readonly code: string
  readonly values?: Readonly<Record<string, Value>>
  readonly place?: readonly (string | Message)[]
}

/** A text is a name, an id or somebody's own words and stays as it is; a number is a count. */
export type Part = string | number | Quantity | Message
export type Value = Part | readonly Part[]

export const isMessage = (value: unknown): value is Message => typeof value === 'object' && value !== null && 'code' in value

/** Words that nobody translates. */
export const verbatim = (text: string): Message => ({ code: 'verbatim', values: { text } })
