/** Keeps the page on the device, so that it opens without a network. FILES and VERSION are put in
 * front of this script when it is written. */

/* global FILES, VERSION */
const scope = /** @type {any} */ (self);

scope.addEventListener("install", (/** @type {any} */ event) =>
  event.waitUntil(caches.open(scope.VERSION).then((cache) => cache.addAll(scope.FILES))),
);
scope.addEventListener("activate", (/** @type {any} */ event) =>
  event.waitUntil(
    caches.keys().then((names) =>
      Promise.all(names.filter((name) => name !== scope.VERSION).map((name) => caches.delete(name))),
    ),
  ),
);
scope.addEventListener("fetch", (/** @type {any} */ event) =>
  event.respondWith(caches.match(event.request).then((kept) => kept ?? fetch(event.request))),
);
