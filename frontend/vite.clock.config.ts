import { copyFileSync } from 'node:fs'

import { svelte } from '@sveltejs/vite-plugin-svelte'
import { defineConfig } from 'vite'

import { oneFile } from './bundle/one-file.js'

// The clock: one page of its own for the phone, given out by coldfield.files.clock_page in three ways.
export default defineConfig({
  base: './',
  plugins: [
    svelte(),
    oneFile([['@noble/hashes', '@noble/hashes/LICENSE']]),
    {
      name: 'worker-beside',
      // It goes as it stands: a browser runs it from a file of its own.
      closeBundle: () => copyFileSync('clock-worker.js', '../src/coldfield/web/static/clock-worker.js'),
    },
  ],
  build: {
    target: 'es2022',
    outDir: '../src/coldfield/web/static',
    emptyOutDir: false,
    rolldownOptions: { input: 'clock.html' },
  },
})
