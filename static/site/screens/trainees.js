// The trainees of a run taken to the site: who, how far, and what is next.

import { h, key, replace, say } from "../dom.js";
import { expired, renew } from "../pack.js";
import { missingPhotos } from "../photo_slot.js";
import { checkReady } from "../ready.js";
import { HOLD_POINT, nextTodo, sheetOf } from "../sheet.js";
import { gone, moment } from "./parts.js";
import { t, tn } from "../words.js";

/** @param {Object} app @param {string} id of the pack @returns {Object} a screen */
export function trainees(app, id) {
  const pack = app.packs.find((each) => each.id === id);
  if (!pack) return gone();
  return {
    title: pack.run.title,
    heading: pack.run.title,
    head: h("div", { class: "who" }, h("span", {}, pack.run.site), h("span", {}, pack.assessor.name)),
    body: [
      missingPhotos(app.db, [pack], app.complain),
      sending(app, pack),
      h("ul", { class: "list" }, pack.trainees.map((trainee) => row(app, pack, trainee))),
      readiness(app, pack),
    ],
    bar: h("nav", { class: "bar stay", "aria-label": t("Ways out") },
      h("div", { class: "keys two" },
        key(t("◀ Runs"), { href: "#/" }),
        key(t("This phone"), { href: "#/leave" }))),
  };
}

function row(app, pack, trainee) {
  if (!trainee.attempt) return h("li", {}, say(trainee.name, trainee.sentence));
  const sheet = sheetOf(pack, trainee, app.events);
  const done = sheet.lines.length - sheet.todo;
  return h("li", {}, key(
    [
      h("span", {}, trainee.name, h("span", { class: "next" }, nextWords(sheet))),
      h("span", {}, t("{count} of {total}", { count: done, total: sheet.lines.length })),
    ],
    { href: `#/attempt/${trainee.attempt}`, kind: done ? "" : "empty" },
  ));
}

function nextWords(sheet) {
  if (!sheet.todo) return t("✓ Everything is scored");
  const next = nextTodo(sheet);
  if (!next) return t("Waits for a hold point");
  return next.subject.kind === HOLD_POINT ? next.subject.title : t("Next: {title}", { title: next.subject.title });
}

/** Until when it sends; after that scoring goes on, and this says what to do to send. */
function sending(app, pack) {
  const over = expired(pack);
  const press = () => renew(app.db, pack).then(app.sendNow).then(app.refresh, app.complain);
  if (!over) return h("p", { class: "help" }, t("Sends until {moment}.", { moment: moment(pack.expires_at) }));
  return [
    say(
      t("The leave to send from this phone ran out on {moment}.", { moment: moment(pack.expires_at) }),
      t("You can go on scoring: everything is kept here. To send it, come where there is a signal, sign in, and press the key."),
    ),
    h("div", { class: "keys" },
      key(t("Renew and send"), { press, kind: "strong wide" }),
      key(t("Sign in"), { href: "/sign-in/?next=/site/", kind: "wide" })),
  ];
}

/** Every check in words; “Ready” only when all hold. */
function readiness(app, pack) {
  const box = h("section", { class: "say", "aria-live": "polite" }, h("p", {}, t("Looking whether this phone is ready…")));
  const look = async () => {
    const checks = await checkReady(app.db, pack);
    const missing = checks.filter((check) => !check.ok).length;
    replace(box,
      h("p", {}, missing
        ? tn(missing, "○ Not ready yet: {count} thing to do", "○ Not ready yet: {count} things to do")
        : h("span", { class: "ready" }, t("✓ Ready for the site"))),
      h("ul", { class: "checks" }, checks.map((check) => h("li", {}, check.ok ? "✓ " : "○ ", check.sentence))));
  };
  const again = () => look().catch(app.complain);
  app.onShell.push(again);
  again();
  return [h("h2", {}, t("Ready for the site?")), box];
}
