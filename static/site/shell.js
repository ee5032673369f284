// The page's side of the service worker: put it in place, and let a new one take over only
// when nothing waits to be sent.

/**
 * @param {{unsent: () => Promise<number>, onUpdated?: () => void}} hooks  ``unsent`` counts events
 *   and photographs on the device that the server has not got; ``onUpdated`` is told when a new
 *   version has taken over and a reload would open it
 * @returns {Promise<() => Promise<void>>} to be called whenever something was sent
 */
export async function startShell({ unsent, onUpdated = () => {} }) {
  if (!("serviceWorker" in navigator)) return async () => {};
  const workers = navigator.serviceWorker;
  const first = workers.controller === null;
  const registration = await workers.register("/sw.js", {
    scope: "/site/",
    updateViaCache: "none",
  });
  const offer = async () => {
    if (registration.waiting && (await unsent()) === 0)
      registration.waiting.postMessage("nothing-unsent");
  };
  registration.addEventListener("updatefound", () => {
    registration.installing?.addEventListener("statechange", offer);
  });
  workers.addEventListener("controllerchange", () => {
    if (!first) onUpdated();
  });
  await offer();
  return offer;
}

/** @returns {Promise<boolean>} whether the pages would open without a signal */
export async function shellKept() {
  if (!("serviceWorker" in navigator)) return false;
  const registration = await navigator.serviceWorker.getRegistration("/site/");
  if (!registration?.active) return false;
  return (await caches.match("/site/", { ignoreVary: true })) !== undefined;
}
