/* Caches the clock on the phone, so that it opens without a network. The page itself keeps the items. */
const KEPT = 'coldfield-clock-' + 'VERSION'
const FILES = ['./', 'index.html', 'codes.html', 'codes.wasm', 'clock.webmanifest', 'icon.svg', 'icon-192.png', 'icon-512.png']

self.addEventListener('install', (event) => {
  // Bypass the browser cache: an older page must not be stored under a newer name.
  const fresh = FILES.map((file) => new Request(file, { cache: 'reload' }))
  event.waitUntil(caches.open(KEPT).then((kept) => kept.addAll(fresh)).then(() => self.skipWaiting()))
})

self.addEventListener('activate', (event) => {
  const older = (name) => name.startsWith('coldfield-clock-') && name !== KEPT
  event.waitUntil(
    caches.keys().then((names) => Promise.all(names.filter(older).map((name) => caches.delete(name)))).then(() => self.clients.claim()),
  )
})

self.addEventListener('fetch', (event) => {
  if (event.request.method !== 'GET') return
  const page = event.request.mode === 'navigate'
  const codes = new URL(event.request.url).pathname.endsWith('/codes.html')
  const wanted = page ? (codes ? 'codes.html' : 'index.html') : event.request
  event.respondWith(caches.open(KEPT).then((kept) => kept.match(wanted)).then((found) => found ?? fetch(event.request)))
})
