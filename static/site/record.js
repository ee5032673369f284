// What scoring writes: one event, and the draft that it ends, or nothing at all.

import { observation } from "./events.js";
import { sheetOf } from "./sheet.js";

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
 * @returns {Promise<Object>} the sheet with it
 * @throws {Stale} where another tab scored the same meanwhile
 */
export async function record(app, { pack, trainee, subject, replaces, value, note = "" }) {
  const before = sheetOf(pack, trainee, await app.db.all("events"));
  if (lineOf(before, subject.kind, subject.key).id !== replaces) {
    throw new Stale("This was scored in another tab meanwhile. Look at it, then score it again.");
  }
  const draft = draftId(trainee.attempt, subject);
  const event = await app.db.append(
    observation({ pack, attempt: trainee.attempt, subject, value, note, replaces }),
    { delete: { drafts: [draft] } },
  );
  app.drafts.delete(draft);
  app.last = value.cleared
    ? null
    : { attempt: trainee.attempt, subject, id: event.id, title: subject.title };
  app.send();
  return sheetOf(pack, trainee, await app.db.all("events"));
}

/**
 * Take back what was recorded last, and go there.
 * @param {Object} app
 */
export async function undo(app) {
  const { attempt, subject, id } = app.last;
  const { pack, trainee } = placeOf(app, attempt);
  await record(app, { pack, trainee, subject, replaces: id, value: { cleared: true } });
  await app.go(`#/attempt/${attempt}/${subject.kind}/${subject.key}`);
}
