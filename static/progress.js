// Reads a page again while something on it is being made; without scripts, reloading does.

const EVERY = 2000; // milliseconds
const SLOWEST = 30000;

const shown = document.querySelector("[data-progress]");
let wait = EVERY;
if (shown?.dataset.progress === "running") setTimeout(read, wait);

async function read() {
  const fresh = await fetched();
  if (fresh) {
    wait = EVERY;
    // What a keyboard is at, or a form that is being sent, is not taken away.
    if (!shown.contains(document.activeElement)) shown.replaceChildren(...fresh.childNodes);
    if (fresh.dataset.progress !== "running") return;
  } else {
    wait = Math.min(wait * 2, SLOWEST);
  }
  setTimeout(read, wait);
}

// The part of the page as it is now; null when it cannot be had: signed out, or no net.
async function fetched() {
  try {
    const response = await fetch(location.href, { credentials: "same-origin" });
    if (!response.ok) return null;
    const page = new DOMParser().parseFromString(await response.text(), "text/html");
    return page.querySelector("[data-progress]");
  } catch {
    return null;
  }
}
