// Noting presence on an instructor's device: sessions taken along, and three keys for each name.

import { h, key, replace, say } from "../site/dom.js";
import { deviceTime } from "../site/events.js";
import { uuid7 } from "../site/uuid7.js";
import { keepAwake } from "../site/wake.js";
import { Sender, takeRoster } from "./send.js";
import { ABSENT, allowed, CAME, LEFT, pressed, standing } from "./state.js";
import { KEPT, openStore, REFUSED } from "./store.js";
import { freshWords, locale, t, tn } from "../site/words.js";

const CLOCK_OFF = 10 * 60_000;
const WORDS = { [CAME]: "Came", [LEFT]: "Left", [ABSENT]: "Was not there" };
const MARKS = { [CAME]: "✓", [LEFT]: "◀", [ABSENT]: "✗" };

const root = document.getElementById("app");
const strip = h("p", { class: "saved", role: "status" });
let store = null;
let sender = null;
let roster = null;
let rows = [];
let problem = "";
let waiting = ""; // why it is not sent, in the server's words
let clock = "";
let signIn = false;

/** A moment by the clocks of a zone, such as 08:02. */
function hour(at, zone) {
  return new Date(at).toLocaleTimeString(locale("en-GB"), { hour: "2-digit", minute: "2-digit", timeZone: zone });
}

function day(at, zone) {
  return new Date(at).toLocaleDateString(locale("en-GB"), { weekday: "short", day: "numeric", month: "short", timeZone: zone });
}

function when({ starts_at, ends_at, zone }) {
  const values = {
    day: day(starts_at, zone), from: hour(starts_at, zone), to: hour(ends_at, zone), last: day(ends_at, zone),
  };
  return t(values.last === values.day ? "{day}, {from} to {to}" : "{day}, {from} to {to} on {last}", values);
}

async function press(session, person, kind) {
  const found = standing(session, rows, person);
  if (!allowed(found)[kind]) return;
  const about = {
    id: uuid7(), session: session.id, person, by: roster.person.id, at: deviceTime(new Date()),
  };
  try {
    await store.add(pressed(found, kind, about));
    problem = "";
  } catch (error) {
    problem = error.message;
  }
  await render();
  sender.send(roster.person.id).catch(complain);
}

function complain(error) {
  console.warn(error);
  problem = error.message;
  render();
}

function sessionsScreen() {
  const sessions = roster?.sessions ?? [];
  return {
    title: t("Who is here"),
    body: [
      sessions.length === 0 &&
        say(t(roster ? "There are no sessions from two days ago to eight days ahead." : "Nothing is on this device yet. With a signal, sign in and take the sessions along.")),
      h("ul", { class: "list" }, sessions.map((each) =>
        h("li", {}, key([
          h("span", {}, each.title, h("span", { class: "next" }, `${each.site}, ${when(each)}`)),
          h("span", {}, tn(each.people.length, "{count} person", "{count} people")),
        ], { href: `#/${each.id}` })))),
    ],
    bar: [
      signIn
        ? key(t("Sign in"), { href: "/sign-in/?next=/site/presence/", kind: "strong" })
        : key(t("Take sessions along"), { press: take }),
      key(t("Clear this device"), { press: putAway }),
    ],
  };
}

function sessionScreen(id) {
  const session = roster?.sessions.find((each) => each.id === id);
  if (!session) return { title: t("Not on this device"), body: say(t("Take the sessions along first.")), bar: [key(t("◀ Sessions"), { href: "#/" })] };
  return {
    title: session.title,
    body: [
      h("p", {}, `${session.site}. ${when(session)} (${session.zone}).`),
      session.people.length === 0 && say(t("Nobody is enrolled.")),
      h("ul", { class: "list" }, session.people.map((person) => personRow(session, person))),
    ],
    bar: [key(t("◀ Sessions"), { href: "#/" })],
  };
}

function personRow(session, person) {
  const found = standing(session, rows, person.id);
  const last = found.at(-1);
  const may = allowed(found);
  return h("li", { class: "person" },
    h("p", { class: "name" }, person.name),
    h("p", { class: "told" }, last ? `${MARKS[last.kind]} ${t(WORDS[last.kind])}, ${hour(last.at, session.zone)}` : t("Not noted yet")),
    h("div", { class: "keys three" }, Object.keys(WORDS).map((kind) =>
      key(t(WORDS[kind]), {
        press: () => press(session, person.id, kind),
        pressed: last?.kind === kind,
        name: `${t(WORDS[kind])}: ${person.name}`,
        attrs: { "aria-disabled": may[kind] ? null : "true" },
      }))));
}

function notices() {
  const refused = rows.filter((row) => row.state === REFUSED);
  const others = rows.filter((row) => row.state === KEPT && row.by !== roster?.person.id);
  return [
    problem && h("div", { class: "error", role: "alert" }, h("p", {}, problem)),
    clock && say(`${clock} ${t("Times stay as this device says them. Set its clock, and have wrong times corrected at the desk.")}`),
    waiting && say(waiting),
    others.length > 0 && say(tn(others.length, "{count} noted by another person stays here until they sign in on this device.", "{count} noted by another person stay here until they sign in on this device.")),
    refused.length > 0 && say(
      t("{count} not taken by the server. They stay here and stand on the session's page at the desk.", { count: refused.length }),
      ...new Set(refused.map((row) => row.sentence)),
    ),
  ];
}

async function render() {
  rows = await store.rows();
  const id = location.hash.replace(/^#\/?/, "");
  const screen = id ? sessionScreen(decodeURIComponent(id)) : sessionsScreen();
  const left = rows.filter((row) => row.state === KEPT).length;
  replace(strip, t("Saved on this device · {left}", { left: left ? t("{count} to send", { count: left }) : t("all sent") }));
  document.title = `${screen.title} · Bankermark`;
  const focused = document.activeElement?.getAttribute("aria-label");
  replace(root,
    h("header", {}, strip, roster && h("p", { class: "who" }, roster.person.name)),
    h("h1", { tabindex: "-1" }, screen.title),
    notices(),
    screen.body,
    h("nav", { class: "bar stay", "aria-label": t("Ways on") }, h("div", { class: "keys two" }, screen.bar)));
  if (focused) root.querySelector(`[aria-label="${CSS.escape(focused)}"]`)?.focus();
}

async function take() {
  const found = await takeRoster();
  signIn = found.signIn;
  if (found.roster) {
    roster = found.roster;
    await store.keepRoster(roster);
    const minutes = Math.round(Math.abs(found.off) / 60_000);
    clock = Math.abs(found.off) > CLOCK_OFF
      ? t(found.off > 0
        ? "This device's clock is {count} minutes ahead of the server's."
        : "This device's clock is {count} minutes behind the server's.", { count: minutes })
      : "";
    waiting = "";
  } else if (found.sentence) waiting = found.sentence;
  await render();
  // Also without an answer: a turn that fails tries again by itself.
  if (roster) await sender.send(roster.person.id);
}

async function putAway() {
  await store.putAway();
  roster = null;
  await render();
}

async function startWorker() {
  if (!("serviceWorker" in navigator)) return;
  const registration = await navigator.serviceWorker.register("/site/presence/sw.js", {
    scope: "/site/presence/", updateViaCache: "none",
  });
  if (registration.waiting && !rows.some((row) => row.state === KEPT))
    registration.waiting.postMessage("nothing-unsent");
}

async function start() {
  try {
    store = await openStore();
  } catch (error) {
    replace(root, h("h1", {}, t("This device cannot keep presence")), say(error.message));
    return;
  }
  roster = (await store.roster()) ?? null;
  sender = new Sender(store, (told) => {
    waiting = told.sentence;
    clock = told.clock ?? clock;
    render().catch(complain);
  });
  addEventListener("hashchange", () => {
    render().then(() => { scrollTo(0, 0); root.querySelector("h1").focus({ preventScroll: true }); }, complain);
  });
  addEventListener("online", () => take().catch(complain));
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") take().catch(complain);
  });
  keepAwake();
  await render();
  freshWords().then((other) => other && render()).catch(complain);
  startWorker().catch(() => {}); // no signal, or a browser without workers
  await take();
}

start().catch(complain);
