// What is pressed for every kind of criterion but the measured one, and for a hold point.

import { h, key, replace, say } from "../dom.js";
import { duration, instantOf, isoOnSite, onSite } from "../zoned.js";
import { limitsInWords } from "../judge.js";
import { t } from "../words.js";

/**
 * Two keys of a verdict.
 * @param {Array<[string, string, Object]>} choices shape, word, value
 * @param {Object} context line, save(value)
 * @param {string} label
 * @returns {Node}
 */
function verdicts(choices, { line, save }, label) {
  return h(
    "div",
    { class: "keys two enter", role: "group", "aria-label": label },
    choices.map(([mark, word, value]) => {
      const recorded = same(line.value, value);
      return key(
        [h("span", { class: "mark", "aria-hidden": "true" }, mark), word, recorded && h("span", { class: "recorded" }, t("Recorded"))],
        { press: () => save(value), kind: "verdict", pressed: recorded },
      );
    }),
  );
}

function same(value, other) {
  return value !== null && Object.entries(other).every(([name, each]) => value[name] === each);
}

/** @param {Object} context @returns {Node[]} */
export function checked(context) {
  return [verdicts([["●", t("Yes"), { answer: true }], ["○", t("No"), { answer: false }]], context, t("Answer"))];
}

/** @param {Object} context @returns {Node[]} */
export function holdPoint(context) {
  return [
    h("div", { class: "say aside" }, h("p", {}, t("The next step hides this one: look before it does."))),
    verdicts([["✓", t("Accepted"), { accepted: true }], ["✕", t("Not accepted"), { accepted: false }]], context, t("Hold point")),
  ];
}

/** @param {Object} context @returns {Node[]} */
export function rated({ criterion, line, save }) {
  const many = criterion.levels.length > 4;
  return [
    h(
      "div",
      { class: `keys levels enter${many ? " many" : ""}`, role: "group", "aria-label": t("Levels") },
      criterion.levels.map((level, index) => {
        const recorded = line.value?.level === index;
        return key(
          [
            h("span", { class: "points" }, level.points),
            h("span", {}, level.description, recorded && h("span", { class: "recorded" }, t("Recorded"))),
          ],
          { press: () => save({ level: index }), kind: "level", pressed: recorded },
        );
      }),
    ),
  ];
}

/** @param {Object} context @returns {Node} */
export function counted({ criterion, line, draft, keep, save }) {
  draft.count ??= line.value?.count ?? 0;
  const shown = h("output", { class: "entry count", "aria-live": "polite", "aria-label": t("How many {thing}", { thing: criterion.what }) });
  const step = (by) => {
    draft.count = Math.max(0, draft.count + by);
    keep(draft);
    replace(shown, draft.count);
  };
  replace(shown, draft.count);
  return h("div", { class: "enter" },
    h("p", { class: "limits" }, t("{thing}, allowed: {limits}", { thing: capital(criterion.what), limits: span(criterion.limits) })),
    h(
      "div",
      { class: "stepper" },
      key("−", { press: () => step(-1), kind: "verdict", name: t("One fewer") }),
      shown,
      key("+", { press: () => step(1), kind: "verdict", name: t("One more") }),
    ),
    h("div", { class: "keys" }, key(t("Save the count"), { press: () => save({ count: draft.count }), kind: "strong wide" })));
}

/** The limits of a counted or timed criterion in words. */
function span({ lower, upper }, show = (text) => text) {
  const [low, high] = [lower, upper].map((each) => (each == null ? null : show(each)));
  return limitsInWords(low, high);
}

function capital(text) {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

/** @param {Object} context @returns {Node} */
export function timed({ criterion, line, draft, keep, save, zone }) {
  draft.start ??= line.value?.start ? onSite(new Date(line.value.start), zone) : "";
  draft.end ??= line.value?.end ? onSite(new Date(line.value.end), zone) : "";
  const wrong = h("div", { class: "error", role: "alert", hidden: true });
  const inputs = {};
  const field = (name, label) => {
    inputs[name] = h("input", {
      class: "entry", type: "datetime-local", step: "1", id: `time-${name}`, value: draft[name],
      onInput: (event) => { draft[name] = event.target.value; keep(draft); },
    });
    const now = () => {
      draft[name] = onSite(new Date(), zone);
      inputs[name].value = draft[name];
      keep(draft);
      // The start is saved at once: another day may end it, and another phone.
      if (name === "start" && !draft.end) save({ start: isoOnSite(new Date(), zone) }, { stay: true });
      if (name === "end") store();
    };
    return {
      press: key(t(name === "start" ? "Start now" : "End now"), { press: now }),
      write: h("div", {}, h("label", { for: `time-${name}` }, label), inputs[name]),
    };
  };
  const refuse = (text) => { replace(wrong, h("p", {}, text)); wrong.hidden = false; };
  const store = () => {
    const start = instantOf(draft.start, zone);
    const end = draft.end ? instantOf(draft.end, zone) : null;
    if (!start) return refuse(t("Note the start first: press “Start now” or write it."));
    if (draft.end && !end) return refuse(t("The end is not a date and time: write both."));
    if (end && Date.parse(end) < Date.parse(start)) return refuse(t("The end lies before the start: check both times."));
    return save(end ? { start, end } : { start });
  };
  const [start, end] = [field("start", t("Start")), field("end", t("End"))];
  return h("div", { class: "enter" },
    h("p", { class: "limits" }, t("Allowed: {limits}", { limits: span(criterion.limits, (text) => duration(text, criterion.unit ?? "min")) })),
    h("div", { class: "keys two" }, start.press, end.press),
    h("div", { class: "instants" }, start.write, end.write),
    wrong,
    h("div", { class: "keys" }, key(t("Save the times"), { press: store, kind: "strong wide" })),
    h("p", { class: "help" }, t("Time at the site ({zone}).", { zone })));
}

/** Where the standard allows it: why the criterion does not apply. @returns {Node[]} */
export function notApplicable({ line, draft, keep, save }) {
  draft.reason ??= line.value?.reason ?? "";
  const wrong = h("div", { class: "error", role: "alert", hidden: true }, h("p", {}, t("Write why it does not apply.")));
  const press = () => {
    wrong.hidden = draft.reason.trim() !== "";
    if (wrong.hidden) save({ not_applicable: true, reason: draft.reason.trim() });
  };
  return [
    h("h2", {}, t("Not applicable"), line.value?.not_applicable && [" ", h("span", { class: "tag" }, t("✓ Recorded"))]),
    h("label", { for: "reason" }, t("Why it does not apply")),
    h("textarea", {
      class: "entry", id: "reason", rows: "2", value: draft.reason,
      onInput: (event) => { draft.reason = event.target.value; keep(draft); },
    }),
    wrong,
    h("div", { class: "keys" }, key(t("Record as not applicable"), { press, kind: "wide" })),
  ];
}

/** The note, saved with the verdict. @returns {Node[]} */
export function note({ line, draft, keep }) {
  draft.note ??= line.value ? line.note : "";
  return [
    h("h2", {}, h("label", { for: "note" }, t("Note"))),
    h("p", { class: "help" }, t("Saved together with what you press or save above.")),
    h("textarea", {
      class: "entry", id: "note", rows: "3", maxlength: "2000", value: draft.note,
      onInput: (event) => { draft.note = event.target.value; keep(draft); },
    }),
  ];
}
