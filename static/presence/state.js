// How a person stands in a session, from what the server had noted and what was pressed here.
// Nothing here touches the page, the store or the network, so that it is tested without them.

import { REFUSED } from "./store.js";

export const CAME = "came";
export const LEFT = "left";
export const ABSENT = "absent";

/**
 * The rows of one person that stand, in the order of their times.
 * @param {object} session of the roster
 * @param {object[]} rows on the device
 * @param {string} person
 * @returns {object[]}
 */
export function standing(session, rows, person) {
  const own = rows.filter((row) => row.session === session.id && row.state !== REFUSED);
  const ids = new Set(own.map((row) => row.id));
  const replaced = new Set(own.map((row) => row.replaces));
  return [...session.noted.filter((row) => !ids.has(row.id)), ...own]
    .filter((row) => row.person === person && !replaced.has(row.id))
    .sort((a, b) => Date.parse(a.at) - Date.parse(b.at));
}

/**
 * Which keys may be pressed: to leave one has come; who came and left was there.
 * @param {object[]} found what ``standing`` returns
 * @returns {{came: boolean, left: boolean, absent: boolean}}
 */
export function allowed(found) {
  const last = found.at(-1)?.kind;
  return {
    came: last !== CAME,
    left: last === CAME,
    absent: last !== ABSENT && found.length < 2 && last !== LEFT,
  };
}

/**
 * The row that one press makes; pressing the other way round takes the first press back.
 * @param {object[]} found what ``standing`` returns @param {string} kind
 * @param {{id: string, session: string, person: string, by: string, at: string}} about
 */
export function pressed(found, kind, about) {
  const last = found.at(-1);
  const back = last && (kind === ABSENT || last.kind === ABSENT);
  return { ...about, kind, replaces: back ? last.id : null };
}

/** What is sent of a row. @param {object} row */
export function wire({ id, session, person, kind, at, replaces }) {
  return { id, session, person, kind, at, replaces };
}
