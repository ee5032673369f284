// A phone that several assessors use: whoever leaves locks what is theirs. It stays, goes on being
// sent, and opens again when the same person has signed in.

import { renew } from "./pack.js";

const SIGN_OUT = "/sign-out/";
const ROW = "locks";

/**
 * @param {Object} db
 * @returns {Promise<{locked: string[], signOut: boolean}>} `locked`: ids of assessors; `signOut`:
 *   whether the session on the server is still to be ended
 */
export async function locks(db) {
  const row = await db.get("meta", ROW);
  return { locked: row?.locked ?? [], signOut: row?.signOut ?? false };
}

/**
 * Lock all packs on this phone and end the session, now or when there is a signal.
 * @param {Object} db
 * @param {Object[]} packs
 */
export async function lockAll(db, packs) {
  const locked = [...new Set(packs.map((pack) => String(pack.assessor.id)))];
  await db.put("meta", { key: ROW, locked, signOut: true });
  await endSession(db);
}

/**
 * Open an assessor's packs again. The server answers only to their own session.
 * @param {Object} db
 * @param {Object} pack
 * @throws {PackError} where another person is signed in, or nobody, or there is no signal
 */
export async function unlock(db, pack) {
  await renew(db, pack);
  await opened(db, pack);
}

/**
 * Open the packs of one assessor and lock those of all others, so that everything that is scored
 * belongs to one person at a time.
 * @param {Object} db
 * @param {Object} pack of the person who has signed in
 */
export async function opened(db, pack) {
  const others = (await db.all("packs")).map((each) => String(each.assessor.id));
  const locked = [...new Set(others)].filter((id) => id !== String(pack.assessor.id));
  await db.put("meta", { key: ROW, locked, signOut: false });
}

/** End the session on the server if that is still to be done. @param {Object} db */
export async function endSession(db) {
  const row = await locks(db);
  if (!row.signOut) return;
  const token = /(?:^|; )csrftoken=([^;]*)/.exec(document.cookie)?.[1];
  if (token) {
    try {
      const answer = await fetch(SIGN_OUT, {
        method: "POST", headers: { "X-CSRFToken": token }, credentials: "same-origin",
        redirect: "manual", cache: "no-store",
      });
      if (answer.type !== "opaqueredirect" && !answer.ok) return;
    } catch {
      return; // no signal: tried again when the page opens or the signal is back
    }
  }
  await db.put("meta", { key: ROW, ...row, signOut: false });
}
