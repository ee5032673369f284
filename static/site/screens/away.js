// Taking a run off this phone once the server has all of it: what goes is said before the press.

import { h, key, replace, say } from "../dom.js";
import { putAway } from "../pack.js";
import { entries as entriesOf, gone, photos as photosOf } from "./parts.js";
import { both, t } from "../words.js";

/** @param {Object} app @param {string} id of the pack @returns {Object} a screen */
export function away(app, id) {
  const pack = app.packs.find((each) => each.id === id);
  if (!pack) return gone();
  const packs = packsOf(app, pack);
  const box = h("div", { "aria-live": "polite" });
  fill(app, packs, box).catch(app.complain);
  return {
    title: t("Take {title} off this phone", { title: pack.run.title }),
    head: h("div", { class: "who" }, h("span", {}, pack.run.site), h("span", {}, pack.assessor.name)),
    body: box,
    bar: h("nav", { class: "bar stay", "aria-label": t("Ways out") },
      h("div", { class: "keys" }, key(t("◀ Runs, keep it"), { href: "#/", kind: "wide" }))),
  };
}

async function fill(app, packs, box) {
  const ids = new Set(packs.map((one) => one.id));
  const events = app.events.filter((event) => ids.has(event.pack));
  const shown = new Set(events.map((event) => event.sha256));
  const photos = (await app.db.all("photos", "sent", 0)).filter((row) => shown.has(row.sha256));
  const unsent = events.filter((event) => event.sent === 0);
  const waiting = [
    unsent.length > 0 && entriesOf(unsent.length),
    photos.length > 0 && photosOf(photos.length),
  ].filter(Boolean);
  replace(box, waiting.length > 0 ? waits(both(waiting)) : ready(app, packs, events.length));
}

/** A run taken again has an older pack as well, and both go. */
function packsOf(app, pack) {
  const same = (one) => one.run.id === pack.run.id && one.assessor.id === pack.assessor.id;
  return app.held.filter(same);
}

function waits(what) {
  return [
    say(t("It stays here: {what} to send. Nothing is taken off this phone before the server has it.", { what })),
    h("div", { class: "keys" }, key(t("Send what waits"), { href: "#/leave", kind: "strong wide" })),
  ];
}

function ready(app, packs, entries) {
  const press = async () => {
    await putAway(app.db, packs);
    app.last = null;
    await app.go("#/");
  };
  return [
    say(
      entries > 0 ? t("Of this run the server has all that was scored here: {entries}.", { entries: entriesOf(entries) }) : t("Nothing of this run was scored here."),
      t("The run, its entries and its photos go from this phone and stay on the server. While the run is open it can be taken again."),
    ),
    h("div", { class: "keys" }, key(t("Take it off this phone"), { press: () => press().catch(app.complain), kind: "strong wide" })),
  ];
}
