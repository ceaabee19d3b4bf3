/** Small readers that turn unknown JSON into typed values and collect every fault with its place. */
import type { Point } from '../plan/point'

export type Reader<T> = (value: unknown, path: string, faults: string[]) => T
export type Read<R> = R extends Reader<infer T> ? T : never

function fault<T>(faults: string[], path: string, must: string, instead: T): T {
  faults.push(`${path}: must be ${must}`)
  return instead
}

export const number: Reader<number> = (value, path, faults) =>
  typeof value === 'number' && Number.isFinite(value) ? value : fault(faults, path, 'a finite number', 0)

export const text: Reader<string> = (value, path, faults) =>
  typeof value === 'string' ? value : fault(faults, path, 'a text', '')

export const flag: Reader<boolean> = (value, path, faults) =>
  typeof value === 'boolean' ? value : fault(faults, path, 'true or false', false)

export type { Point }

const isNumber = (value: unknown): value is number => typeof value === 'number' && Number.isFinite(value)

export const point: Reader<Point> = (value, path, faults) =>
  Array.isArray(value) && value.length === 2 && isNumber(value[0]) && isNumber(value[1])
    ? [value[0], value[1]]
    : fault(faults, path, 'a place: [east, north] in metres', [0, 0])

/** Accept null, and a missing key, as null. */
export function nullable<T>(reader: Reader<T>): Reader<T | null> {
  return (value, path, faults) => (value === null || value === undefined ? null : reader(value, path, faults))
}

/** Fill a key that is missing or null. */
export function otherwise<T>(reader: Reader<T>, instead: T): Reader<T> {
  return (value, path, faults) => (value === null || value === undefined ? instead : reader(value, path, faults))
}

export function list<T>(reader: Reader<T>): Reader<T[]> {
  return (value, path, faults) =>
    Array.isArray(value)
      ? value.map((item: unknown, index) => reader(item, `${path}[${index}]`, faults))
      : fault(faults, path, 'a list', [])
}

/** A list that may be left out. */
export function listOrNone<T>(reader: Reader<T>): Reader<T[]> {
  return otherwise(list(reader), [])
}

type Shape = Record<string, Reader<unknown>>
type Shaped<S extends Shape> = { [K in keyof S]: Read<S[K]> }

/** An object with these keys; keys that are not named here are left out. */
export function object<S extends Shape>(shape: S): Reader<Shaped<S>> {
  return (value, path, faults) => {
    if (typeof value !== 'object' || value === null || Array.isArray(value)) {
      faults.push(`${path || 'the document'}: must be an object`)
      value = {}
    }
    const given = value as Record<string, unknown>
    const entries = Object.entries(shape).map(([key, reader]) => [
      key,
      reader(given[key], path ? `${path}.${key}` : key, faults),
    ])
    return Object.fromEntries(entries) as Shaped<S>
  }
}

/** Named numbers and words that the page only shows, never computes with. */
export const anything: Reader<Record<string, unknown>> = (value) =>
  typeof value === 'object' && value !== null && !Array.isArray(value) ? (value as Record<string, unknown>) : {}
