// The service worker of the pages about presence: opens them without a signal. The server writes
// SHELL and VERSION above this text (training/views/presence/device.py). Its scope is
// /site/presence/; the scoring pages have a worker and caches of their own.
/* global SHELL, VERSION */

const CACHE = `presence-${VERSION}`;
const PATHS = new Set(SHELL.map(([path]) => path));

/** All files or none, each compared byte for byte with what the server means. */
async function install() {
  const files = await Promise.all(
    SHELL.map(async ([path, integrity]) => {
      const answer = await fetch(path, {
        cache: "reload", credentials: "omit", redirect: "error", integrity,
      });
      if (answer.status !== 200) throw new Error(`${path}: status ${answer.status}`);
      return [path, answer];
    }),
  );
  const cache = await caches.open(CACHE);
  try {
    await Promise.all(files.map(([path, answer]) => cache.put(path, answer)));
  } catch (error) {
    await caches.delete(CACHE); // no room: half of it is worse than none
    throw error;
  }
}

async function dropOld() {
  for (const name of await caches.keys())
    if (name.startsWith("presence-") && name !== CACHE) await caches.delete(name);
  await self.clients.claim();
}

async function kept(path, request) {
  const cache = await caches.open(CACHE);
  return (await cache.match(path, { ignoreVary: true })) ?? fetch(request);
}

self.addEventListener("install", (event) => event.waitUntil(install()));
self.addEventListener("activate", (event) => event.waitUntil(dropOld()));
self.addEventListener("fetch", (event) => {
  const { method, url } = event.request;
  const { origin, pathname } = new URL(url);
  if (method === "GET" && origin === self.location.origin && PATHS.has(pathname))
    event.respondWith(kept(pathname, event.request));
});
// A new worker takes over only when the page says that nothing waits to be sent.
self.addEventListener("message", (event) => {
  if (event.data === "nothing-unsent") self.skipWaiting();
});
