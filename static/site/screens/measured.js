// A measured criterion: the number line and the result above, at most three columns of keys below.

import { h, key, replace } from "../dom.js";
import { judge } from "../judge.js";
import {
  beginning, coarser, erased, marksOf, marksPerUnit, padOf, partsAfter, resolutionPlaces, typed,
  unfinished, whole, withoutLast,
} from "../keypad.js";
import { LengthError, parseQuantity } from "../lengths.js";
import { drawLine } from "./line.js";
import { t } from "../words.js";

/**
 * The screen's content. Readings are kept as they are typed (draft); the last one saves them all
 * and, where they conform, leads on.
 * @param {Object} context criterion, sums, line, draft, keep(draft), save(value), goOn(), nextTitle.
 * @returns {Node}
 */
export function measured(context) {
  const { criterion, sums, line, draft } = context;
  draft.readings ??= line.value?.readings ? [...line.value.readings] : [];
  const start = beginning(criterion, sums);
  const marks = marksOf(criterion, sums);
  const places = resolutionPlaces(criterion);
  const fractions = padOf(criterion) === "fractions";
  const ui = { pane: marks.length ? "marks" : "digits", eighth: null, wrong: "" };
  const above = h("div", { class: "stay" });
  const keypad = h("div", { class: "keypad" });
  const taken = h("p", { class: "taken" });
  const root = h("div", { class: "measured enter" }, above, keypad, taken);

  const all = () => draft.readings.length >= criterion.readings;
  const empty = () => draft.text === "" || draft.text === start;
  draft.text ??= all() ? "" : start;
  const redraw = () => {
    replace(above, ...head(context, ui, all(), places));
    keypad.className = `keypad ${all() ? "" : ui.pane}`;
    replace(keypad, ...(all() ? finished() : pads[ui.pane]()));
    replace(taken, list(draft));
  };
  const change = (write) => {
    ui.wrong = "";
    write();
    context.keep(draft);
    redraw();
  };
  const store = () => {
    const value = { readings: draft.readings };
    // What does not conform stays in sight: it may be a misreading.
    return context.save(value, { stay: judge(criterion, sums, value).result !== "met" });
  };
  /** Take the text as a reading; say what is wrong with it where it cannot be read. */
  const take = (text) => {
    try {
      const { typed: as, value, unit } = parseQuantity(text, criterion.unit);
      draft.readings.push({ typed: as, value, unit });
      draft.text = all() ? "" : start;
      ui.eighth = null;
      if (ui.pane === "parts") ui.pane = marks.length ? "marks" : "digits";
      if (all()) store();
    } catch (error) {
      if (!(error instanceof LengthError)) throw error;
      ui.wrong = error.sentence;
    }
  };
  const type = (character) => {
    if (all()) return;
    change(() => {
      draft.text = typed(draft.text, character);
      if (whole(draft.text, places)) take(draft.text);
    });
  };
  const minus = () => change(() => {
    draft.text = draft.text.startsWith("-") ? draft.text.slice(1) : `-${draft.text}`;
  });
  const erase = () => change(() => {
    if (draft.text) draft.text = erased(draft.text);
    else if (draft.readings.length) {
      Object.assign(draft, withoutLast(draft.readings, marks));
      if (!draft.text && marks.length) ui.pane = "marks";
    }
    ui.eighth = null;
  });
  const takeText = () => change(() => {
    if (empty()) ui.wrong = t("Take reading {count} first.", { count: draft.readings.length + 1 });
    else take(draft.text);
  });
  const turn = (pane) => {
    Object.assign(ui, { pane, eighth: null });
    redraw();
  };
  const part = (text, index) => change(() => {
    if (ui.eighth !== null || marksPerUnit(criterion) <= 8) return take(text);
    draft.text = text;
    ui.eighth = index;
  });

  const eraseKey = () => key(t("Erase"), { press: erase, kind: "words" });
  const takeKey = (kind) => key(t("Take reading"), { press: takeText, kind: `strong words ${kind}` });
  const pads = {
    marks: () => [
      ...marks.map((text) => key(text, { press: () => change(() => take(text)) })),
      key(marks.length > 10 ? [t("Erase,"), h("br"), t("other")] : t("Other"), { press: () => turn("digits"), kind: "words" }),
      marks.length <= 10 && eraseKey(),
    ],
    digits: () => [
      ..."123456789".split("").map((digit) => key(digit, { press: () => type(digit) })),
      eraseKey(),
      key("0", { press: () => type("0") }),
      last(),
      ...foot(),
    ],
    parts: () => {
      const inches = draft.text.includes("/") ? erased(draft.text) : draft.text;
      return [
        ...partsAfter(inches, marksPerUnit(criterion), ui.eighth)
          .map((text, index) => key(text, { press: () => part(text, index) })),
        eraseKey(),
        marks.length
          ? key(t("Marks"), { press: () => turn("marks"), kind: "words" })
          : key(t("Digits"), { press: () => turn("digits"), kind: "words" }),
        key(".", { press: () => { turn("digits"); type("."); }, name: t("Point") }),
        key("mm", {
          press: () => change(() => { if (/^\d+$/.test(draft.text)) draft.text += " mm"; turn("digits"); }),
          kind: "words", name: t("Millimeters"),
        }),
      ];
    },
  };
  const last = () => {
    if (!fractions) return key(".", { press: () => type("."), name: t("Point") });
    if (/[./m]/.test(draft.text)) return takeKey("");
    return key(t("Parts"), { press: () => turn("parts"), kind: "words", name: t("Parts of an inch") });
  };
  /** Only where a reading does not end by itself. */
  const foot = () => {
    const minusKey = criterion.quantity === "temperature" && key("−", { press: minus, name: t("Below zero") });
    return [minusKey, !fractions && !places && takeKey(minusKey ? "span" : "wide")];
  };
  const finished = () => [
    key(t("Erase"), { press: erase, kind: "words", name: t("Erase the last reading") }),
    key(onward(context), { press: () => (unchanged(context) ? context.goOn() : store()), kind: "strong words span" }),
  ];
  redraw();
  context.onKey?.((event) => {
    if (/^[0-9.]$/.test(event.key)) type(event.key);
    else if (event.key === "Backspace") erase();
    else return false;
    return true;
  });
  return root;
}

/** Whether what is recorded is what stands here, note and all. */
function unchanged({ line, draft }) {
  const texts = (readings) => readings?.map((reading) => reading.typed).join("\n");
  return line.value !== null && texts(line.value.readings) === texts(draft.readings) &&
    (draft.note ?? line.note) === line.note;
}

function onward(context) {
  const title = context.nextTitle || t("all criteria");
  return unchanged(context) ? t("Next: {title}", { title }) : [t("Save, then"), h("br"), title];
}

const WORDS = { met: "✓ Conforms", not_met: "✕ Does not conform", within_guard_band: "◆ Within the guard band" };
const SHORT = { met: "✓ so far", not_met: "✕ outside", within_guard_band: "◆ guard band" };

/** Of one height while readings are taken, so that no key moves under the thumb. */
function head({ criterion, sums, draft }, ui, all, places) {
  const value = { readings: draft.readings };
  const judged = all && judge(criterion, sums, value);
  return [
    h("div", { class: "line" }, drawLine(criterion, sums, value)),
    !all && coarser(criterion) && h("p", { class: "help" }, coarser(criterion)),
    ui.wrong && h("div", { class: "error", role: "alert" }, h("p", {}, ui.wrong)),
    h("p", { class: "now", role: "status" }, judged
      ? t(WORDS[judged.result])
      : [
          h("span", {}, t("{count} of {total}: {reading}", { count: draft.readings.length + 1, total: criterion.readings, reading: unfinished(draft.text, places) })),
          h("span", { class: "far" }, soFar(criterion, sums, value)),
        ]),
    judged && h("p", {}, judged.sentence),
  ];
}

/** What the readings taken so far come to. */
function soFar(criterion, sums, value) {
  const taken = value.readings.length;
  return taken ? t(SHORT[judge({ ...criterion, readings: taken }, sums, value).result]) : "";
}

function list(draft) {
  return draft.readings.map((reading, index) => h("span", { class: "nowrap" }, `${index + 1}: ${reading.typed}  `));
}
