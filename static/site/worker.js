// The service worker: opens the scoring pages without a signal. The server writes SHELL and
// VERSION above this text (assessments/views/site/shell.py) and answers with both at /sw.js.
/* global SHELL, VERSION */

const CACHE = `shell-${VERSION}`;
const SHELL_PATHS = new Set(SHELL.map(([path]) => path));

/** Fetch one file past every cache; refuse what is not, byte for byte, the file meant. */
async function fetchWhole([path, integrity]) {
  const asked = { cache: "reload", credentials: "omit", redirect: "error", integrity };
  const answer = await fetch(path, asked);
  if (answer.status !== 200) throw new Error(`${path}: status ${answer.status}`);
  return [path, answer];
}

/** All files or none: nothing is put away before every one has come whole. */
async function install() {
  const files = await Promise.all(SHELL.map(fetchWhole));
  const cache = await caches.open(CACHE);
  try {
    await Promise.all(files.map(([path, answer]) => cache.put(path, answer)));
  } catch (error) {
    await caches.delete(CACHE); // no room: half a shell is worse than none
    throw error;
  }
}

async function dropOld() {
  for (const name of await caches.keys())
    if (name.startsWith("shell-") && name !== CACHE) await caches.delete(name);
  await self.clients.claim();
}

async function fromShell(path, request) {
  const cache = await caches.open(CACHE);
  return (await cache.match(path, { ignoreVary: true })) ?? fetch(request);
}

self.addEventListener("install", (event) => event.waitUntil(install()));
self.addEventListener("activate", (event) => event.waitUntil(dropOld()));
self.addEventListener("fetch", (event) => {
  const { method, url } = event.request;
  const { origin, pathname } = new URL(url);
  if (method === "GET" && origin === self.location.origin && SHELL_PATHS.has(pathname))
    event.respondWith(fromShell(pathname, event.request));
});
// A new worker takes over only when the page says that nothing waits to be sent.
self.addEventListener("message", (event) => {
  if (event.data === "nothing-unsent") self.skipWaiting();
});
