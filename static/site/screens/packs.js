// The runs on this phone, and those that can be taken to the site while there is a signal.

import { h, key, replace, say } from "../dom.js";
import { opened, unlock } from "../lock.js";
import { checkLoss } from "../mirror.js";
import { expired, listRuns, takePack } from "../pack.js";
import { missingPhotos } from "../photo_slot.js";
import { entries, moment } from "./parts.js";
import { t, tn } from "../words.js";

/** @param {Object} app @returns {Object} a screen */
export function packs(app) {
  return {
    title: t("Scoring on site"),
    body: [
      lost(app),
      missingPhotos(app.db, app.packs, app.complain),
      h("h2", {}, t("On this phone")),
      app.packs.length
        ? h("ul", { class: "list" }, app.packs.map((pack) => held(app, pack)))
        : say(t("No run is on this phone yet. Take one below while there is a signal; after that it opens without one.")),
      locked(app),
      h("h2", {}, t("Take to the site")),
      offered(app),
      finished(app),
    ],
    bar: h("nav", { class: "bar stay", "aria-label": t("This phone") },
      h("div", { class: "keys" }, key(t("This phone: send, export, sign out"), { href: "#/leave", kind: "wide" }))),
  };
}

/** What this phone had saved and has no more: shown once, until somebody has read it. */
function lost(app) {
  if (!app.loss) return null;
  const { last, found, unsent } = app.loss;
  const read = async () => {
    await app.db.noteLoss(app.loss, { shown: true });
    app.loss = await checkLoss(app.db); // there may be another one
    await app.refresh();
  };
  return [
    h("div", { class: "say", role: "alert" },
      h("p", {}, t("▲ Saved scores are gone from this phone")),
      h("p", {}, t("It had saved {entries} and holds {found} of them. The browser threw its store away, or somebody cleared it.", { entries: entries(last), found })),
      h("p", {}, unsent
        ? t("{entries} had not been sent when it was last seen. Compare each trainee's list with your notes, and score again what is missing.", { entries: entries(unsent) })
        : t("All of it had been sent, so that nothing is missing on the server."))),
    h("div", { class: "keys" }, key(t("I have read this"), { press: () => read().catch(app.complain), kind: "strong wide" })),
  ];
}

function held(app, pack) {
  const names = tn(pack.trainees.length, "{count} trainee", "{count} trainees");
  const sends = expired(pack) ? t("renew to send") : t("sends until {moment}", { moment: moment(pack.expires_at) });
  return h("li", {}, key(
    h("span", {}, pack.run.title,
      h("span", { class: "next" }, `${pack.run.site}, ${names}`),
      h("span", { class: "next" }, `${pack.assessor.name}; ${sends}`)),
    { href: `#/pack/${pack.id}` },
  ));
}

/** The way to take a run off this phone; the screen it leads to says what goes, or what waits. */
function finished(app) {
  if (!app.packs.length) return null;
  return [
    h("h2", {}, t("Done with a run?")),
    h("ul", { class: "list" }, app.packs.map((pack) => h("li", {}, key(
      h("span", {}, t("Take off this phone"), h("span", { class: "next" }, `${pack.run.title}, ${pack.assessor.name}`)),
      { href: `#/away/${pack.id}` },
    )))),
  ];
}

/** Packs of assessors who signed out on this phone. */
function locked(app) {
  if (!app.locked.length) return null;
  const open = (pack) => unlock(app.db, pack).then(app.refresh, app.complain);
  return [
    h("h2", {}, t("Locked")),
    h("p", { class: "help" }, t("Nothing is lost: it stays here and is sent when there is a signal. To open it, its assessor signs in and presses the key.")),
    h("ul", { class: "list" }, app.locked.map((pack) => h("li", {}, key(
      [h("span", {}, pack.assessor.name, h("span", { class: "next" }, pack.run.title)), h("span", {}, t("Unlock"))],
      { press: () => open(pack) },
    )))),
    h("div", { class: "keys" }, key(t("Sign in"), { href: "/sign-in/?next=/site/", kind: "wide" })),
  ];
}

function offered(app) {
  const box = h("div", { "aria-live": "polite" }, h("p", { class: "help" }, t("Looking for runs…")));
  listRuns().then((runs) => {
    const held = new Set(app.packs.map((pack) => pack.run.id));
    replace(box,
      runs.length
        ? h("ul", { class: "list" }, runs.map((run) => h("li", {}, take(app, run, held.has(run.id)))))
        : say(t("There is no open run with a sealed standard that you may score.")));
  }).catch((error) => {
    replace(box, say(error.message),
      error.kind === "sign_in" && h("div", { class: "keys" }, key(t("Sign in"), { href: "/sign-in/?next=/site/", kind: "strong wide" })));
  });
  return box;
}

function take(app, run, again) {
  const press = async (event) => {
    const pressed = event.currentTarget;
    pressed.disabled = true;
    try {
      const pack = await takePack(app.db, run.id);
      await opened(app.db, pack);
      await app.go(`#/pack/${pack.id}`);
    } catch (error) {
      pressed.disabled = false;
      app.complain(error);
    }
  };
  return key(
    [h("span", {}, run.title, h("span", { class: "next" }, run.site)), h("span", {}, t(again ? "Take again" : "Take"))],
    { press },
  );
}
