// Small parts that several screens show.

import { h, key, say } from "../dom.js";
import { undo } from "../record.js";
import { HOLD_POINT } from "../sheet.js";
import { locale, t, tn } from "../words.js";

const SCORED = "{title}: {done} of {total} scored";
const ACCEPTED = "{title}: {done} of {total} scored, hold point accepted";
const NOT_YET = "{title}: {done} of {total} scored, hold point not accepted yet";

/** Nothing of that name is on this phone. @returns {Object} a screen */
export function gone() {
  return {
    title: t("Not on this phone"),
    body: [
      say(t("What this address leads to is not on this phone. It may belong to another run, or the run was not taken here.")),
      h("div", { class: "keys" }, key(t("Runs on this phone"), { href: "#/", kind: "strong wide" })),
    ],
  };
}

/**
 * How far each stage is, as on the desk's scoring page.
 * @param {Object} pack
 * @param {Object} sheet
 * @param {number} [at] the stage shown
 * @returns {Node}
 */
export function progress(pack, sheet, at = -1) {
  return h("ol", { class: "stages", "aria-label": t("Stages") },
    pack.standard.document.stages.map((stage, index) => {
      const lines = sheet.lines.filter((line) => line.subject.stage === index);
      const done = lines.filter((line) => line.done).length;
      const held = lines.some((line) => line.subject.kind === HOLD_POINT && line.word === "met");
      const classes = [index === at && "current", stage.hold_point && "hold", held && "held"];
      const words = t(stage.hold_point ? (held ? ACCEPTED : NOT_YET) : SCORED, { title: stage.title, done, total: lines.length });
      return h("li", { class: classes.filter(Boolean).join(" "), "aria-current": index === at ? "step" : null },
        h("progress", { value: done, max: lines.length || 1, "aria-label": words }));
    }));
}

/**
 * What was saved last of an attempt, and the key that takes it back: always in sight, at the top.
 * @param {Object} app
 * @param {string} attempt
 * @returns {Array} empty where there is nothing to take back
 */
export function undoOf(app, attempt) {
  if (app.last?.attempt !== attempt) return [];
  const { title, taken } = app.last;
  return [
    h("p", { class: "last" }, t(taken ? "Taken back: {title}" : "Saved: {title}", { title })),
    key(t("Undo"), { press: () => undo(app).catch(app.complain), name: t("Undo: {title}", { title }), kind: "undo" }),
  ];
}

/** A moment as a day and a time of this phone. @param {string} iso @returns {string} */
export function moment(iso) {
  return new Date(iso).toLocaleString(locale("en-US"), { dateStyle: "medium", timeStyle: "short" });
}

/** @param {number} count @returns {string} */
export const entries = (count) => tn(count, "{count} entry", "{count} entries");

/** @param {number} count @returns {string} */
export const photos = (count) => tn(count, "{count} photo", "{count} photos");
