// A measured criterion: the number line and the result above, at most three columns of keys below.

import { h, key, replace } from "../dom.js";
import { judge } from "../judge.js";
import { beginning, erased, hasPart, marksOf, padOf, resolutionPlaces, typed, whole, withPart } from "../keypad.js";
import { LengthError, parseQuantity } from "../lengths.js";
import { drawLine } from "./line.js";

const PARTS = [2, 4, 8, 16, 32, 64];

/**
 * The screen's content. Readings are kept as they are typed (draft) and saved by one key.
 * @param {Object} context criterion, sums, line, draft, keep(draft), save(value), nextTitle.
 * @returns {Node}
 */
export function measured(context) {
  const { criterion, sums, line, draft } = context;
  draft.readings ??= line.value?.readings ? [...line.value.readings] : [];
  const start = beginning(criterion, sums);
  const empty = () => draft.text === "" || draft.text === start;
  const marks = marksOf(criterion, sums);
  const ui = { pane: marks.length ? "marks" : "digits", wrong: "" };
  const above = h("div", { class: "stay" });
  const keypad = h("div", { class: "keypad" });
  const taken = h("p", { class: "taken" });
  const root = h("div", { class: "measured" }, above, keypad, taken);

  const all = () => draft.readings.length >= criterion.readings;
  draft.text ??= all() ? "" : start;
  const redraw = () => {
    replace(above, ...head(context, ui, all()));
    replace(keypad, ...pads[ui.pane](), ...foot());
    replace(taken, list(draft));
  };
  const change = (write) => {
    ui.wrong = "";
    write();
    context.keep(draft);
    redraw();
  };
  /** Take the text as a reading; say what is wrong with it where it cannot be read. */
  const take = (text) => {
    try {
      const { typed: as, value, unit } = parseQuantity(text, criterion.unit);
      draft.readings.push({ typed: as, value, unit });
      draft.text = all() ? "" : start;
      if (ui.pane === "parts") ui.pane = marks.length ? "marks" : "digits";
    } catch (error) {
      if (!(error instanceof LengthError)) throw error;
      ui.wrong = error.sentence;
    }
  };
  const places = resolutionPlaces(criterion);
  const type = (character) => change(() => {
    if (all()) return;
    draft.text = typed(draft.text, character);
    if (whole(draft.text, places)) take(draft.text);
  });
  const part = (bottom) => change(() => {
    if (!all()) draft.text = withPart(draft.text, bottom);
  });
  const minus = () => change(() => {
    if (!all()) draft.text = draft.text.startsWith("-") ? draft.text.slice(1) : `-${draft.text}`;
  });
  const erase = () => change(() => {
    if (draft.text) draft.text = erased(draft.text);
    else if (draft.readings.length) draft.text = erased(draft.readings.pop().typed);
  });
  const next = () => {
    if (empty() && all()) return context.save({ readings: draft.readings });
    if (!empty()) return change(() => take(draft.text));
    return change(() => { ui.wrong = `Take reading ${draft.readings.length + 1} first.`; });
  };
  const turn = (pane) => { ui.pane = pane; redraw(); };

  const pads = {
    marks: () => [
      ...marks.map((text) => key(text, { press: () => change(() => { if (!all()) take(text); }) })),
      key("Erase", { press: erase, kind: "words" }),
    ],
    digits: () => [
      ..."123456789".split("").map((digit) => key(digit, { press: () => type(digit) })),
      key("Erase", { press: erase, kind: "words" }),
      key("0", { press: () => type("0") }),
      padOf(criterion) === "fractions"
        ? key("Parts", { press: () => turn("parts"), kind: "words", name: "Parts of an inch" })
        : key(".", { press: () => type("."), name: "Point" }),
    ],
    parts: () => [
      ...PARTS.map((bottom) => key(`1/${bottom}`, { press: () => part(bottom), pressed: hasPart(draft.text, bottom) })),
      key("Erase", { press: erase, kind: "words" }),
      key(".", { press: () => { ui.pane = "digits"; type("."); }, name: "Point" }),
      key("mm", {
        press: () => change(() => { if (/\d$/.test(draft.text) && !draft.text.includes("/")) draft.text += " mm"; }),
        kind: "words", name: "Millimeters",
      }),
    ],
  };
  const foot = () => {
    const other = { marks: ["Other", "digits"], digits: ["Marks", "marks"], parts: ["Digits", "digits"] };
    const [label, pane] = other[ui.pane];
    let left = null;
    if (ui.pane !== "digits" || marks.length) left = key(label, { press: () => turn(pane), kind: "words" });
    else if (criterion.quantity === "temperature") left = key("−", { press: minus, name: "Below zero" });
    return [
      left,
      key(nextLabel(context, empty(), all()), { press: next, kind: `strong words ${left ? "span" : "wide"}` }),
    ];
  };
  redraw();
  context.onKey?.((event) => {
    if (/^[0-9.]$/.test(event.key)) type(event.key);
    else if (event.key === "Backspace") erase();
    else return false;
    return true;
  });
  return root;
}

function nextLabel(context, empty, all) {
  if (!all || !empty) return empty ? `Reading ${context.draft.readings.length + 1}` : "Next reading";
  return context.nextTitle ? ["Save, then", h("br"), context.nextTitle] : "Save the readings";
}

const WORDS = { met: "✓ Conforms", not_met: "✕ Does not conform", within_guard_band: "◆ Within the guard band" };
const SHORT = { met: "✓ so far", not_met: "✕ outside", within_guard_band: "◆ guard band" };

/** Of one height whatever is entered, so that no key moves under the thumb. */
function head({ criterion, sums, draft }, ui, all) {
  const value = { readings: draft.readings };
  return [
    h("div", { class: "line" }, drawLine(criterion, sums, value)),
    ui.wrong && h("div", { class: "error", role: "alert" }, h("p", {}, ui.wrong)),
    h("p", { class: "now", role: "status" }, all
      ? WORDS[judge(criterion, sums, value).result]
      : [
          h("span", {}, `${draft.readings.length + 1} of ${criterion.readings}: ${draft.text || "▁"}`),
          h("span", { class: "far" }, soFar(criterion, sums, value)),
        ]),
  ];
}

/** What the readings taken so far come to. */
function soFar(criterion, sums, value) {
  const taken = value.readings.length;
  return taken ? SHORT[judge({ ...criterion, readings: taken }, sums, value).result] : "";
}

function list(draft) {
  return draft.readings.map((reading, index) => h("span", { class: "nowrap" }, `${index + 1}: ${reading.typed}  `));
}
