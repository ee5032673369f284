// The screen stays lit while somebody scores, where the browser can do that.

let lock = null;

/** Ask now, and again whenever the page comes back into sight: hiding it ends the lock. */
export function keepAwake() {
  ask();
  document.addEventListener("visibilitychange", ask);
}

async function ask() {
  if (!("wakeLock" in navigator) || document.visibilityState !== "visible") return;
  if (lock && !lock.released) return;
  try {
    lock = await navigator.wakeLock.request("screen");
  } catch {
    lock = null; // refused, such as on a low battery: the screen goes dark as usual
  }
}
