import { createHash } from 'node:crypto'
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { brotliCompressSync, constants, gzipSync } from 'node:zlib'

const PACKED = /\.(js|css)$/
/** Files that save less than this over gzip, in bytes, are not worth their place in the package. Setting. */
const LEAST_SAVED = 1500

/**
 * Writes the large scripts of the app once more as brotli, which Python cannot make without a further library. The
 * service finds them by the sum of what they stand for.
 *
 * @returns {import('vite').Plugin}
 */
export function withPacked() {
  return {
    name: 'with-packed',
    writeBundle({ dir }) {
      mkdirSync(join(dir, 'packed'), { recursive: true })
      const assets = join(dir, 'assets')
      for (const name of readdirSync(assets).filter((name) => PACKED.test(name))) {
        const plain = readFileSync(join(assets, name))
        const small = brotliCompressSync(plain, { params: { [constants.BROTLI_PARAM_SIZE_HINT]: plain.length } })
        if (gzipSync(plain, { level: 9 }).length - small.length < LEAST_SAVED) continue
        const sum = createHash('sha256').update(plain).digest('hex').slice(0, 16)
        writeFileSync(join(dir, 'packed', `${sum}.br`), small)
      }
    },
  }
}
