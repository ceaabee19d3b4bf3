/** The day file as text: each line with a checksum, and an end line (docs/day_file.md). */
import { sha256 } from '@noble/hashes/sha2.js'
import { bytesToHex, utf8ToBytes } from '@noble/hashes/utils.js'

import type { End, Head, Item, PhoneLine, Run } from './items'

export const FORMAT = 'coldfield-day/1'
export const ENDING = '.coldfield-day.txt'
const MOST_CHARACTERS = 4_000_000

const sum = (text: string): string => bytesToHex(sha256(utf8ToBytes(text)))

const line = (text: string): string => `${sum(text).slice(0, 16)} ${text}\n`

export interface Day {
  made_ms: number
  phone: PhoneLine
  runs: readonly Run[]
  items: readonly Item[]
}

export function writeDayFile(day: Day): string {
  const head: Head = { line: 'head', format: FORMAT, made_by: 'Coldfield clock', made_ms: day.made_ms }
  // The picture of the ground came from the laptop and does not need to go back.
  const runs = day.runs.map((run) => (run.picture ? { ...run, picture: null } : run))
  return sealed([head, day.phone, ...runs, ...day.items].map((part) => JSON.stringify(part)))
}

/** The file with these lines, their checksums and the end line. */
export function sealed(texts: readonly string[]): string {
  const lines = texts.map(line)
  const end: End = { line: 'end', lines: lines.length, sha256: sum(lines.join('')) }
  return lines.join('') + line(JSON.stringify(end))
}

/** The lines of a file written here, without checksums and end line. */
export const linesOf = (file: string): string[] => file.trimEnd().split('\n').slice(0, -1).map((text) => text.slice(17))

/** A day file with its file name. */
export interface Given {
  name: string
  text: string
}

export function dayName(made_ms: number, phone: { id: string; name: string; keeper: string }): string {
  const who = (phone.keeper || phone.name || phone.id.slice(0, 4)).normalize('NFKD').replace(/[^A-Za-z0-9]+/g, '-').replace(/^-|-$/g, '')
  const stamp = new Date(made_ms).toISOString().slice(0, 16).replace('T', '-').replace(':', '')
  return `${stamp}-${who || 'clock'}${ENDING}`
}

/** Why a chosen file is refused. */
export type Refusal = 'not a day file' | 'newer' | 'too large' | 'no run' | 'changed'

/** The runs in a file chosen on the phone; none from a file that was cut short or changed. */
export function readRuns(text: string): Run[] | Refusal {
  if (text.length > MOST_CHARACTERS) return 'too large'
  const version = /"format" ?: ?"coldfield-day\/(\d{1,6})"/.exec(text.slice(0, 2000))
  if (!version) return 'not a day file'
  if (version[1] !== '1') return 'newer'
  const lines = text.replace(/^\ufeff/, '').split(/\r?\n/).filter(Boolean)
  const parts = lines.map(whole)
  const end = parts.at(-1)
  if (parts.includes(null) || end?.['line'] !== 'end' || end['lines'] !== lines.length - 1) return 'changed'
  const runs = parts.filter((part) => part?.['line'] === 'run') as unknown as Run[]
  return runs.length ? runs : 'no run'
}

function whole(text: string): Record<string, unknown> | null {
  const found = /^([0-9a-f]{16}) (\{.*\})$/s.exec(text)
  if (!found?.[2] || sum(found[2]).slice(0, 16) !== found[1]) return null
  try {
    return JSON.parse(found[2]) as Record<string, unknown>
  } catch {
    return null
  }
}
