// Taking a run off this phone once the server has all of it: what goes is said before the press.

import { h, key, say } from "../dom.js";
import { putAway } from "../pack.js";
import { counted, gone } from "./parts.js";

/** @param {Object} app @param {string} id of the pack @returns {Object} a screen */
export function away(app, id) {
  const pack = app.packs.find((each) => each.id === id);
  if (!pack) return gone();
  const events = app.events.filter((event) => event.pack && packsOf(app, pack).has(event.pack));
  const unsent = events.filter((event) => event.sent === 0).length;
  return {
    title: `Take ${pack.run.title} off this phone`,
    head: h("div", { class: "who" }, h("span", {}, pack.run.site), h("span", {}, pack.assessor.name)),
    body: unsent > 0 ? waits(unsent) : ready(app, pack, events.length),
    bar: h("nav", { class: "bar stay", "aria-label": "Ways out" },
      h("div", { class: "keys" }, key("◀ Runs, keep it", { href: "#/", kind: "wide" }))),
  };
}

/** A run taken again has an older pack as well, and both go. */
function packsOf(app, pack) {
  const same = (one) => one.run.id === pack.run.id && one.assessor.id === pack.assessor.id;
  return new Set(app.held.filter(same).map((one) => one.id));
}

function waits(unsent) {
  return [
    say(`It stays: ${counted(unsent, "entry", "entries")} of it ${unsent === 1 ? "is" : "are"} not sent yet. Nothing is taken off this phone before the server has it.`),
    h("div", { class: "keys" }, key("Send what waits", { href: "#/leave", kind: "strong wide" })),
  ];
}

function ready(app, pack, entries) {
  const press = async () => {
    await putAway(app.db, app.held.filter((one) => packsOf(app, pack).has(one.id)));
    app.last = null;
    await app.go("#/");
  };
  return [
    say(
      `The server has ${entries === 1 ? "the 1 entry" : `all ${entries} entries`} of this run.`,
      "The run, its entries and its photos go from this phone and stay on the server. While the run is open it can be taken again.",
    ),
    h("div", { class: "keys" }, key("Take it off this phone", { press: () => press().catch(app.complain), kind: "strong wide" })),
  ];
}
