// The page's side of the service worker: put it in place, and let a new one take over only
// when nothing waits to be sent.

/**
 * @param {{unsent: () => Promise<number>}} hooks  counts the events and photographs on the device
 *   that the server has not got
 * @returns {Promise<() => Promise<void>>} to be called whenever something was sent
 */
export async function startShell({ unsent }) {
  if (!("serviceWorker" in navigator)) return async () => {};
  const registration = await navigator.serviceWorker.register("/sw.js", {
    scope: "/site/",
    updateViaCache: "none",
  });
  const offer = async () => {
    if (registration.waiting && (await unsent()) === 0)
      registration.waiting?.postMessage("nothing-unsent"); // it may have taken over meanwhile
  };
  registration.addEventListener("updatefound", () => {
    registration.installing?.addEventListener("statechange", offer);
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
