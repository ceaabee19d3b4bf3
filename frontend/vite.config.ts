import { svelte } from '@sveltejs/vite-plugin-svelte'
import { defineConfig } from 'vitest/config'

import { oneFile } from './bundle/one-file.js'

// One page: the debrief that is written into a self-contained HTML file by coldfield.files.debrief_html.
export default defineConfig({
  base: './',
  plugins: [svelte(), oneFile()],
  build: {
    target: 'es2022',
    outDir: '../src/coldfield/web/static',
    emptyOutDir: false,
    rolldownOptions: { input: 'debrief.html' },
  },
  test: { include: ['src/**/*.test.ts'], environment: 'node', pool: 'threads', setupFiles: ['src/words/setup.ts'] },
})
