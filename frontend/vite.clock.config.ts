import { copyFileSync } from 'node:fs'

import { svelte } from '@sveltejs/vite-plugin-svelte'
import { defineConfig } from 'vite'

import { oneFile } from './bundle/one-file.js'

// The clock: a separate page for the phone, which coldfield.files.clock_page writes in three ways.
export default defineConfig({
  base: './',
  plugins: [
    svelte(),
    oneFile([['@noble/hashes', '@noble/hashes/LICENSE']]),
    {
      name: 'worker-beside',
      // The worker is copied unchanged: a browser runs it from its own file.
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
