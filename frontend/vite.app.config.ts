import { svelte } from '@sveltejs/vite-plugin-svelte'
import { defineConfig } from 'vite'

import { withLicences } from './bundle/licences.js'
import { withPacked } from './bundle/packed.js'
import { wordsOfPages } from './bundle/words.js'

// The app: a separate page for each address, loaded when it is opened. Served by coldfield.web.front.
export default defineConfig({
  base: '/app/',
  plugins: [svelte(), withLicences(), wordsOfPages('/app/pages.ts'), withPacked()],
  build: {
    target: 'es2022',
    outDir: '../src/coldfield/web/static/app',
    emptyOutDir: true,
    assetsInlineLimit: 0,
    modulePreload: { polyfill: false },
    rolldownOptions: { input: 'app.html' },
  },
  server: { proxy: { '/app/words': 'http://127.0.0.1:8457', '/api': 'http://127.0.0.1:8457', '/debriefs': 'http://127.0.0.1:8457' } },
})
