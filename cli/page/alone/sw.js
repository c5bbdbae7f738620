// Keeps every file of one build under its digest, and answers from there without a network.
const NAME = "whywire-BUILD";
const FILES = FILES_OF_BUILD;
const FASTER = "snapshot.bin"; // large, and the page does without it

addEventListener("install", (event) =>
  event.waitUntil(caches.open(NAME).then((kept) => kept.addAll(FILES)).then(() => skipWaiting())));

addEventListener("activate", (event) =>
  event.waitUntil(
    caches.keys()
      .then((names) => Promise.all(names.filter((name) => name !== NAME).map((name) => caches.delete(name))))
      .then(() => clients.claim())));

addEventListener("fetch", (event) =>
  event.respondWith(
    caches.match(event.request, { ignoreSearch: true }).then((found) => found ?? fetch(event.request))));

// Asked for when the first screen stands: nobody waits for it, and the next start is faster.
addEventListener("message", (event) =>
  event.waitUntil(
    caches.open(NAME)
      .then(async (kept) => (await kept.match(FASTER)) ?? kept.add(FASTER))
      .catch(() => {})));
