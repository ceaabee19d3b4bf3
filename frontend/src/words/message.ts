/** A message from the service: a code, typed values, a place. Its words are in the catalogue. */
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

/** A text is a name, an id or a person's own words and stays unchanged; a number is a count. */
export type Part = string | number | Quantity | Message
export type Value = Part | readonly Part[]

export const isMessage = (value: unknown): value is Message => typeof value === 'object' && value !== null && 'code' in value

/** A text that is not translated. */
export const verbatim = (text: string): Message => ({ code: 'verbatim', values: { text } })
