// What scoring writes: one event, and the draft that it ends, or nothing at all.

import { observation } from "./events.js";
import { marksOf, withoutLast } from "./keypad.js";
import { sheetOf, standing } from "./sheet.js";
import { t } from "./words.js";

/** A sentence for who scores: nothing was saved, and what to do. */
export class Stale extends Error {}

/**
 * The pack and the trainee of an attempt.
 * @param {Object} app
 * @param {string} attempt
 * @returns {{pack: Object, trainee: Object}|null}
 */
export function placeOf(app, attempt) {
  for (const pack of app.packs) {
    const trainee = pack.trainees.find((each) => each.attempt === attempt);
    if (trainee) return { pack, trainee };
  }
  return null;
}

/**
 * The line of a subject.
 * @param {Object} sheet
 * @param {string} kind
 * @param {string} key
 * @returns {Object|undefined}
 */
export function lineOf(sheet, kind, key) {
  return sheet.lines.find((line) => line.subject.kind === kind && line.subject.key === key);
}

/** @param {string} attempt @param {{kind: string, key: string}} subject @returns {string} */
export function draftId(attempt, subject) {
  return `${attempt}:${subject.kind}:${subject.key}`;
}

/**
 * Save one observation over the one that the screen showed.
 * @param {Object} app
 * @param {{pack: Object, trainee: Object, subject: Object, replaces: string|null, value: Object,
 *   note?: string}} fact
 * @param {{draft: Object|null}} [undoing] Given where this takes back what was saved last: the
 *   draft to go on with, in place of none.
 * @returns {Promise<Object>} the sheet with it
 * @throws {Stale} where another tab scored the same meanwhile
 */
export async function record(app, { pack, trainee, subject, replaces, value, note = "" }, undoing) {
  const { attempt } = trainee;
  const events = await app.db.all("events", "attempt", attempt);
  const before = standing(pack, trainee, events).get(`${subject.kind}:${subject.key}`);
  if ((before?.id ?? null) !== replaces) {
    throw new Stale(t("This was scored in another tab meanwhile. Look at it, then score it again."));
  }
  const id = draftId(attempt, subject);
  const ended = app.drafts.get(id);
  const draft = undoing?.draft;
  const event = await app.db.append(
    observation({ pack, attempt, subject, value, note, replaces }),
    draft ? { put: { drafts: [draft] } } : { delete: { drafts: [id] } },
  );
  if (draft) app.drafts.set(id, draft);
  else app.drafts.delete(id);
  app.last = undoing
    ? null
    : { attempt, subject, id: event.id, title: subject.title, taken: value.cleared, before, draft: ended };
  app.send();
  return sheetOf(pack, trainee, [...events, event]);
}

/**
 * Take back what was recorded last, and go there: what stood there before stands there again, and
 * what was entered need not be entered anew.
 * @param {Object} app
 */
export async function undo(app) {
  const { last } = app;
  if (!last) return;
  app.last = null; // one press, one undo
  const { attempt, subject, id, before } = last;
  const { pack, trainee } = placeOf(app, attempt);
  const stood = before && !before.value.cleared;
  const fact = stood ? { value: before.value, note: before.note } : { value: { cleared: true } };
  const undoing = { draft: stood ? null : reopened(last, pack.sums[subject.key]) };
  try {
    await record(app, { pack, trainee, subject, replaces: id, ...fact }, undoing);
  } catch (error) {
    app.last = last;
    throw error;
  }
  await app.go(`#/attempt/${attempt}/${subject.kind}/${subject.key}`);
}

/** The draft that was ended; of readings all but the last, since its press is what is undone. */
function reopened({ subject: { criterion }, draft }, sums) {
  if (!draft) return null;
  const whole = criterion?.kind === "measured" && draft.readings?.length === criterion.readings;
  return whole ? { ...draft, ...withoutLast(draft.readings, marksOf(criterion, sums)) } : draft;
}
