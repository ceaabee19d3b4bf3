import { copyFileSync } from 'node:fs'

import { svelte } from '@sveltejs/vite-plugin-svelte'
import { defineConfig } from 'vite'

import { CODES } from './bundle/licences.js'
import { oneFile } from './bundle/one-file.js'

// The page beside the clock that reads and shows codes; the reader is a separate file, loaded with the camera.
export default defineConfig({
  base: './',
  plugins: [
    svelte(),
    oneFile([['@noble/hashes', '@noble/hashes/LICENSE'], ...CODES]),
    {
      name: 'reader-beside',
      closeBundle: () => copyFileSync('node_modules/zxing-wasm/dist/reader/zxing_reader.wasm', '../src/coldfield/web/static/codes.wasm'),
    },
  ],
  build: {
    target: 'es2022',
    outDir: '../src/coldfield/web/static',
    emptyOutDir: false,
    rolldownOptions: { input: 'codes.html' },
  },
})
