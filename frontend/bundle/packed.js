import { createHash } from 'node:crypto'
import { readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { brotliCompressSync, constants } from 'node:zlib'

const PACKED = /\.(js|css)$/

function small(plain) {
  return brotliCompressSync(plain, { params: { [constants.BROTLI_PARAM_SIZE_HINT]: plain.length } })
}

/** What the service gives out in place of these bytes: it finds them by their sum, so that they always agree. */
export function packed(plain) {
  const sum = createHash('sha256').update(plain).digest('hex').slice(0, 16)
  return { fileName: `packed/${sum}.br`, source: small(plain) }
}

/**
 * Writes every script and style of the app once more as brotli, which Python cannot make without a further library.
 *
 * @returns {import('vite').Plugin}
 */
export function withPacked() {
  return {
    name: 'with-packed',
    writeBundle({ dir }) {
      const assets = join(dir, 'assets')
      for (const name of readdirSync(assets).filter((name) => PACKED.test(name))) {
        const { fileName, source } = packed(readFileSync(join(assets, name)))
        writeFileSync(join(dir, fileName), source)
      }
    },
  }
}
