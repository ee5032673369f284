// This phone: what is still to be sent, and how to hand the phone on without losing any of it.

import { h, key, replace, say } from "../dom.js";
import { exportFile } from "../export.js";
import { lockAll } from "../lock.js";
import { entries, photos } from "./parts.js";
import { both, t } from "../words.js";

/** @param {Object} app @returns {Object} a screen */
export function leave(app) {
  const box = h("div", {});
  const show = () => replace(box, ...content(app));
  app.onState.push(show);
  show();
  return {
    title: t("This phone"),
    body: box,
    bar: h("nav", { class: "bar stay", "aria-label": t("Ways out") }, h("div", { class: "keys" }, key(t("◀ Runs"), { href: "#/", kind: "wide" }))),
  };
}

function content(app) {
  const { unsent, unsentPhotos } = app.counts;
  const waiting = unsent + unsentPhotos > 0;
  const left = both([unsent && entries(unsent), unsentPhotos && photos(unsentPhotos)].filter(Boolean));
  return [
    waiting
      ? say(t("{left} to send. All of it is saved on this phone.", { left }), app.outbox.sentence)
      : say(t("✓ Everything on this phone has arrived on the server.")),
    waiting && [
      h("div", { class: "keys" }, key(t("Send now"), { press: () => app.sendNow().catch(app.complain), kind: "strong wide" })),
      h("h2", {}, t("No signal?")),
      h("p", { class: "help" }, t("Save all entries as a file and carry it to the office: it can be read in there. Photos stay on this phone until they are sent.")),
      h("div", { class: "keys" }, key(t("Save to a file"), { press: () => save(app).catch(app.complain), kind: "wide" })),
    ],
    h("h2", {}, t("Another assessor takes this phone")),
    waiting && h("p", { class: "help" }, t("You may sign out now. What is to be sent stays here, locked, under your name, and goes out by itself when there is a signal. Whoever signs in next scores under their own name.")),
    h("div", { class: "keys" }, key(t(waiting ? "Sign out, keep what waits" : "Sign out"), { press: () => signOut(app).catch(app.complain), kind: "wide" })),
  ];
}

async function signOut(app) {
  await lockAll(app.db, app.packs);
  app.last = null;
  await app.go("#/");
}

/** One file for each assessor, as their entries are their own. */
async function save(app) {
  for (const assessor of new Set(app.packs.map((pack) => pack.assessor.id))) {
    const file = await exportFile(app.db, assessor);
    const url = URL.createObjectURL(file);
    const day = new Date().toISOString().slice(0, 10);
    const link = h("a", { href: url, download: `bankermark-${day}-${assessor}.json` });
    link.click();
    setTimeout(() => URL.revokeObjectURL(url), 60_000);
  }
}
