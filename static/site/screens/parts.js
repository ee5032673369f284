// Small parts that several screens show.

import { h, key, say } from "../dom.js";
import { undo } from "../record.js";
import { HOLD_POINT } from "../sheet.js";

/** Nothing of that name is on this phone. @returns {Object} a screen */
export function gone() {
  return {
    title: "Not on this phone",
    body: [
      say("What this address leads to is not on this phone. It may belong to another run, or the run was not taken here."),
      h("div", { class: "keys" }, key("Runs on this phone", { href: "#/", kind: "strong wide" })),
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
  return h("ol", { class: "stages", "aria-label": "Stages" },
    pack.standard.document.stages.map((stage, index) => {
      const lines = sheet.lines.filter((line) => line.subject.stage === index);
      const done = lines.filter((line) => line.done).length;
      const held = lines.some((line) => line.subject.kind === HOLD_POINT && line.word === "met");
      const classes = [index === at && "current", stage.hold_point && "hold", held && "held"];
      const hold = held ? "accepted" : "not accepted yet";
      const words = `${stage.title}: ${done} of ${lines.length} scored${stage.hold_point ? `, hold point ${hold}` : ""}`;
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
    h("p", { class: "last" }, `${taken ? "Taken back" : "Saved"}: ${title}`),
    key("Undo", { press: () => undo(app).catch(app.complain), name: `Undo: ${title}`, kind: "undo" }),
  ];
}

/** A moment as a day and a time of this phone. @param {string} iso @returns {string} */
export function moment(iso) {
  return new Date(iso).toLocaleString("en-US", { dateStyle: "medium", timeStyle: "short" });
}

/** @param {number} count @param {string} one @param {string} [many] @returns {string} */
export function counted(count, one, many = `${one}s`) {
  return `${count} ${count === 1 ? one : many}`;
}
