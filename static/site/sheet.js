// The score sheet of one attempt, worked out on the phone: what is scored, what is next, what
// waits behind a hold point. The order and the words are those of assessments/queries/sheet.py.

import { current } from "./events.js";
import { judge } from "./judge.js";
import { t } from "./words.js";

export const CRITERION = "criterion";
export const HOLD_POINT = "hold_point";

/**
 * @typedef {{kind: string, key: string, title: string, stage: number, critical: boolean,
 *   criterion: Object|null}} Subject `criterion` as in the standard; null for a hold point.
 * @typedef {{subject: Subject, id: string|null, value: Object|null, note: string,
 *   result: {result: string, sentence: string}|null, word: string, done: boolean,
 *   waitsFor: Subject|null, acceptedByOther: boolean, stands: boolean}} Line `value` is null before a score and once it is taken back;
 *   what stands from the attempt before is done, and never scored;
 *   `id` is then still that of the observation to be replaced.
 * @typedef {{lines: Line[], todo: number, waiting: number}} Sheet
 */

/**
 * The subjects of a standard: stage by stage, its hold point last.
 * @param {Object} standard The standard's document.
 * @returns {Subject[]}
 */
export function subjectsOf(standard) {
  return standard.stages.flatMap((stage, index) => {
    const found = standard.criteria
      .filter((each) => each.stage === stage.key)
      .map((each) => ({
        kind: CRITERION, key: each.key, title: each.title, stage: index,
        critical: each.critical, criterion: each,
      }));
    if (stage.hold_point) {
      found.push({
        kind: HOLD_POINT, key: stage.key, title: t("Hold point: {title}", { title: stage.title }), stage: index,
        critical: true, criterion: null,
      });
    }
    return found;
  });
}

/**
 * What a value comes to by itself.
 * @param {Object} pack
 * @param {Subject} subject
 * @param {Object} value
 * @returns {{result: string, sentence: string}}
 */
export function judgeSubject(pack, subject, value) {
  if (subject.kind === HOLD_POINT) {
    return value.accepted
      ? { result: "met", sentence: t("Accepted: the next step may begin.") }
      : { result: "not_met", sentence: t("Not accepted: mend it, then look again.") };
  }
  return judge(subject.criterion, pack.sums[subject.key], value);
}

/** What stands of a trainee, by "kind:key": what the pack brought, and over it `events`. */
export function standing(pack, trainee, events) {
  const before = Object.fromEntries(Object.entries(trainee.current).filter(([, row]) => row));
  return current(events, pack.assessor.id, trainee.attempt, before);
}

/**
 * The sheet of a trainee: what the pack brought, and over it the events of this phone.
 * @param {Object} pack
 * @param {Object} trainee Of the pack.
 * @param {Object[]} events All events of this phone.
 * @returns {Sheet}
 */
export function sheetOf(pack, trainee, events) {
  const found = standing(pack, trainee, events);
  const lines = subjectsOf(pack.standard.document).map((subject) => lineOf(pack, subject, found));
  const accepted = new Set(trainee.accepted);
  const stands = new Set(trainee.stands);
  for (const line of lines) {
    line.stands = stands.has(`${line.subject.kind}:${line.subject.key}`);
    if (line.stands) {
      line.word = "met";
      line.done = true;
    } else if (line.subject.kind === HOLD_POINT && !line.value && accepted.has(line.subject.key)) {
      line.word = "met";
      line.done = true;
      line.acceptedByOther = true;
    }
  }
  for (const line of lines) {
    line.waitsFor = lines.find(
      (each) =>
        each.subject.kind === HOLD_POINT && each.word !== "met" && each.subject.stage < line.subject.stage,
    )?.subject ?? null;
  }
  return {
    lines,
    todo: lines.filter((line) => !line.done).length,
    waiting: lines.filter((line) => !line.done && line.waitsFor).length,
  };
}

function lineOf(pack, subject, found) {
  const row = found.get(`${subject.kind}:${subject.key}`);
  const value = row && !row.value.cleared ? row.value : null;
  const result = value && judgeSubject(pack, subject, value);
  const word = result ? result.result : "unscored";
  return {
    subject, id: row?.id ?? null, value, note: row?.note ?? "", result, word,
    done: word !== "unscored" && word !== "missing", waitsFor: null, acceptedByOther: false, stands: false,
  };
}

/**
 * The next line to score, looking on from `after` and then from the start.
 * @param {Sheet} sheet
 * @param {Line} [after]
 * @returns {Line|undefined}
 */
export function nextTodo(sheet, after) {
  const start = after ? sheet.lines.indexOf(after) + 1 : 0;
  const ahead = [...sheet.lines.slice(start), ...sheet.lines.slice(0, start)];
  return ahead.find((line) => !line.done && !line.waitsFor);
}

/**
 * Whether the work must stop and be looked at: a critical criterion or hold point is not met.
 * @param {Line} line
 * @returns {boolean}
 */
export function stops(line) {
  return line.subject.critical && line.word === "not_met";
}

/**
 * What a line is called in the list, in words and a shape.
 * @param {Line} line
 * @returns {string}
 */
export function wordOf(line) {
  if (line.stands) return t("✓ Stands");
  if (line.subject.kind === HOLD_POINT) {
    if (line.word === "met") return t("✓ Accepted");
    if (line.word === "not_met") return t("✕ Not accepted");
    return t(line.waitsFor ? "Waits" : "To be looked at");
  }
  const words = {
    met: "✓ Met", not_met: "✕ Not met", within_guard_band: "◆ Within the guard band",
    not_applicable: "– Not applicable", missing: "To be finished",
  };
  return t(words[line.word] ?? (line.waitsFor ? "Waits" : "Not scored"));
}
