// Keeps the page for when there is no network: everything that viewer/web/build put together, under the name of this
// version of it. A newer one is fetched beside it and takes over at the next start.
'use strict';
const VERSION = 'boltwalk <!-- place of the version -->';
const FILES = [<!-- place of the files -->];
self.addEventListener('install', (event) => {
    event.waitUntil(caches.open(VERSION).then((cache) => cache.addAll(FILES)));
});
self.addEventListener('activate', (event) => {
    event.waitUntil(caches.keys().then((all) => Promise.all(
        all.filter((name) => name.startsWith('boltwalk ') && name !== VERSION).map((name) => caches.delete(name)))));
});
self.addEventListener('fetch', (event) => {
    if (event.request.method !== 'GET') return;
    event.respondWith(caches.open(VERSION)
        .then((cache) => cache.match(event.request, { ignoreSearch: true }))
        .then((kept) => kept || fetch(event.request)));
});
