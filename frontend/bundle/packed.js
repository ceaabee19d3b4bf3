import { createHash } from 'node:crypto'
import { mkdirSync, readdirSync, readFileSync, writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { brotliCompressSync, constants, gzipSync } from 'node:zlib'

const PACKED = /\.(js|css)$/
/** The least saving over gzip for which a file is included, bytes. Setting. */
const LEAST_SAVED = 1500

/**
 * Also writes the large scripts of the app as brotli, for which Python would need another library. The service finds them by the
 * checksum of the original.
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
