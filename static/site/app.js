// Scoring on the scaffold: opens the store of this phone, follows the address, shows one screen.

import { openDb } from "./db.js";
import { h, replace, say } from "./dom.js";
import { endSession, locks } from "./lock.js";
import { checkLoss } from "./mirror.js";
import { nudge, sendNow, startOutbox } from "./outbox.js";
import { attempt } from "./screens/attempt.js";
import { away } from "./screens/away.js";
import { leave } from "./screens/leave.js";
import { packs } from "./screens/packs.js";
import { subject } from "./screens/subject.js";
import { trainees } from "./screens/trainees.js";
import { startShell } from "./shell.js";
import { keepAwake } from "./wake.js";
import { freshWords, t, tn } from "./words.js";

const QUIET = 350; // ms; a second touch of the same press must not score the next criterion

const ROUTES = [
  [/^$/, packs],
  [/^pack\/([^/]+)$/, trainees],
  [/^attempt\/([^/]+)$/, attempt],
  [/^attempt\/([^/]+)\/(criterion|hold_point)\/([^/]+)$/, subject],
  [/^leave$/, leave],
  [/^away\/([^/]+)$/, away],
];

/**
 * What the screens share.
 * @typedef {{db: Object, held: Object[], packs: Object[], locked: Object[], events: Object[],
 *   drafts: Map<string, Object>, loss: Object|null, outbox: Object, counts: Object,
 *   last: Object|null, problem: string, onKey: function|null, onLeave: Array<function>,
 *   onSent: Array<function>, onState: Array<function>, onShell: Array<function>, go: function(string): Promise<void>,
 *   quiet: function(): void, refresh: function(): Promise<void>, complain: function(Error): void,
 *   send: function(): void, sendNow: function(): Promise<void>}} App
 *   `held`: all packs; `packs`: the newest of each run and assessor, those locked apart; `last`:
 *   what Undo takes back; `onSent`, `onState`, `onShell` and `onLeave` are told when something was
 *   sent, when the outbox changed, when the pages are kept and when the screen is left.
 */
const app = {
  db: null, held: [], packs: [], locked: [], events: [], drafts: new Map(), loss: null, last: null,
  problem: "", outbox: { state: "idle", unsent: 0, sentence: "" },
  counts: { events: 0, unsent: 0, photos: 0, unsentPhotos: 0 },
  onKey: null, onLeave: [], onSent: [], onState: [], onShell: [],
  go, quiet, refresh: render, complain, send: () => nudge().catch(complain), sendNow,
};
const root = document.getElementById("app");
const strip = h("p", { class: "saved", role: "status" });
let offerShell = () => {};
let quieting = false;
let timer = null;
let shown = null;

async function reload() {
  const [found, events, drafts] = await Promise.all(
    ["packs", "events", "drafts"].map((store) => app.db.all(store)),
  );
  const { locked } = await locks(app.db);
  const newest = newestOf(found);
  app.held = found;
  app.packs = newest.filter((pack) => !locked.includes(String(pack.assessor.id)));
  app.locked = newest.filter((pack) => locked.includes(String(pack.assessor.id)));
  app.events = events;
  app.drafts = new Map(drafts.map((draft) => [draft.id, draft]));
  app.counts = await app.db.counts();
}

/** A run taken again has two packs; the older one only sends what was scored under it. */
function newestOf(packs) {
  const found = new Map();
  for (const pack of [...packs].sort((a, b) => Date.parse(a.taken_at) - Date.parse(b.taken_at))) {
    found.set(`${pack.run.id} ${pack.assessor.id}`, pack);
  }
  return [...found.values()].reverse();
}

/** Go to a screen; where it is the one shown, show it anew. */
async function go(hash) {
  if (location.hash === hash) return render();
  quiet();
  location.hash = hash; // hashchange renders
}

/** Drop presses from now until the next screen has been in sight for a moment. */
function quiet() {
  quieting = true;
  root.setAttribute("aria-busy", "true");
}

function endQuiet() {
  clearTimeout(timer);
  timer = setTimeout(() => {
    quieting = false;
    root.removeAttribute("aria-busy");
  }, QUIET);
}

function complain(error) {
  console.warn(error);
  app.problem = error.sentence ?? error.message;
  render();
}

async function render() {
  const hash = location.hash.replace(/^#\/?/, "");
  try {
    await reload();
  } catch (error) {
    app.problem = error.message;
  }
  if (hash !== location.hash.replace(/^#\/?/, "")) return;
  for (const task of app.onLeave.splice(0)) task();
  app.onSent = [];
  app.onState = [];
  app.onShell = [];
  app.onKey = null;
  const screen = screenOf(hash);
  const moved = shown !== hash;
  shown = hash;
  root.dataset.screen = hash;
  document.title = `${screen.title} · Bankermark`;
  showStrip();
  replace(
    root,
    h("header", {}, strip, screen.head),
    h("h1", { tabindex: "-1" }, screen.heading ?? screen.title),
    app.problem && h("div", { class: "error", role: "alert" }, h("p", {}, app.problem)),
    screen.body,
    screen.bar,
  );
  app.problem = "";
  if (quieting) endQuiet();
  if (!moved) return;
  window.scrollTo(0, 0);
  root.querySelector("h1").focus({ preventScroll: true });
}

function screenOf(hash) {
  for (const [pattern, screen] of ROUTES) {
    const found = pattern.exec(hash);
    if (found) return screen(app, ...found.slice(1).map(decodeURIComponent));
  }
  return { title: t("Not found"), body: [say(t("There is no such screen.")), h("div", { class: "keys" }, h("a", { class: "key strong wide", href: "#/" }, t("Runs on this phone")))] };
}

function showStrip() {
  const { unsent, unsentPhotos } = app.counts;
  const left = [unsent && t("{count} to send", { count: unsent }), unsentPhotos && tn(unsentPhotos, "{count} photo", "{count} photos")].filter(Boolean);
  const text = t("Saved on this phone · {left}", { left: left.join(", ") || t("all sent") });
  if (strip.textContent !== text) replace(strip, text);
}

async function outboxChanged(state) {
  app.outbox = state;
  const before = app.counts.unsent + app.counts.unsentPhotos;
  app.counts = await app.db.counts();
  showStrip();
  if (app.counts.unsent + app.counts.unsentPhotos < before) for (const task of app.onSent) task();
  for (const task of app.onState) task();
  offerShell();
}

/** Another tab may have scored meanwhile. Else the screen stays, and with it an open camera. */
async function lookAgain() {
  if (document.visibilityState !== "visible" || !app.db.open) return;
  const { events } = await app.db.counts();
  if (events !== app.counts.events) render();
}

async function start() {
  try {
    app.db = await openDb({
      onClosed: (sentence) => complain(new Error(sentence)),
      onBlocked: (sentence) => replace(root, h("h1", {}, t("One moment")), say(sentence)),
    });
  } catch (error) {
    replace(root, h("h1", {}, t("This phone cannot keep scores")), say(error.message, t("Score on paper, or on another device.")));
    return;
  }
  app.loss = await checkLoss(app.db);
  window.addEventListener("hashchange", render);
  document.addEventListener("visibilitychange", lookAgain);
  root.addEventListener("click", (event) => {
    if (!quieting) return;
    event.preventDefault();
    event.stopPropagation();
  }, true);
  document.addEventListener("keydown", (event) => {
    if (event.target.matches("input, textarea") || event.ctrlKey || event.metaKey || event.altKey) return;
    if (app.onKey?.(event)) event.preventDefault();
  });
  keepAwake();
  await render();
  freshWords().then((other) => other && render()).catch(complain);
  startOutbox(app.db, { onChange: (state) => outboxChanged(state).catch(complain) });
  const unsent = async () => {
    const counts = await app.db.counts();
    return counts.unsent + counts.unsentPhotos;
  };
  const outSession = () => endSession(app.db).catch(complain);
  window.addEventListener("online", outSession);
  outSession();
  navigator.serviceWorker?.addEventListener("controllerchange", () => {
    for (const task of app.onShell) task();
  });
  try {
    offerShell = await startShell({ unsent });
  } catch {
    // No signal, or a browser without workers: the check “Ready for the site” says so.
  }
}

start();
