/** A text as a drawable code: dark squares as an SVG path, with a light margin of four squares. */
import encodeQR from 'qr'

export interface Picture {
  size: number
  path: string
}

export function picture(text: string): Picture {
  const rows = encodeQR(text, 'raw', { ecc: 'medium', border: 4 })
  const path = rows.map((row, y) => [...row.map((dark) => (dark ? '1' : '0')).join('').matchAll(/1+/g)].map(({ index, 0: bar }) => `M${index} ${y}h${bar.length}v1h-${bar.length}z`).join('')).join('')
  return { size: rows.length, path }
}
