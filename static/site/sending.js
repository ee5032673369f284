// One request of the outbox, and what its answer is worth. Only a JSON answer with status 200
// counts, and only for the ids that it lists: a sign-in page of some network says nothing.

import { EVENTS, LOSSES } from "./addresses.js";
import { wire } from "./events.js";

export const MOST_EVENTS = 200;
export const MOST_BYTES = 500_000;
const TIMEOUT = 20_000;
const SHORTEST = 2_000;
const LONGEST = 300_000;
const LONGEST_ASKED = 3_600_000;
const TAKEN = new Set(["stored", "already", "aside"]);

/**
 * How long to wait after so many failures in a row.
 * @param {number} failures from 1
 * @param {() => number} [random] 0 up to 1; spreads devices that lost the same signal
 * @returns {number} milliseconds, 2 s to 5 min
 */
export function delayAfter(failures, random = Math.random) {
  const whole = Math.min(LONGEST, SHORTEST * 2 ** Math.min(failures - 1, 20));
  return Math.max(SHORTEST, Math.round(whole * (0.5 + 0.5 * random())));
}

/**
 * What Retry-After asks for (RFC 9110, 10.2.3): seconds, or a date.
 * @param {string | null} header
 * @param {number} now milliseconds since 1970
 * @returns {number} milliseconds, 1 s to 1 h; a minute where nothing readable is asked
 */
export function retryAfter(header, now) {
  const text = (header ?? "").trim();
  const asked = /^\d+$/.test(text) ? Number(text) * 1000 : Date.parse(text) - now;
  if (Number.isNaN(asked)) return 60_000;
  return Math.min(LONGEST_ASKED, Math.max(1000, asked));
}

/**
 * The first events that fit into one request; at least one.
 * @param {object[]} events as stored
 * @param {number} most events
 * @param {number} [bytes]
 * @returns {object[]} as sent
 */
export function batchOf(events, most, bytes = MOST_BYTES) {
  const batch = [];
  let size = 0;
  for (const event of events.slice(0, most)) {
    const sent = wire(event);
    size += new TextEncoder().encode(JSON.stringify(sent)).length + 1;
    if (batch.length > 0 && size > bytes) break;
    batch.push(sent);
  }
  return batch;
}

/** Whether no answer can name this id (readable_id in assessments/actions/site/aside.py). */
const unreadable = (id) => typeof id !== "string" || !/^[\x20-\x7e]{1,80}$/.test(id);

/** The event that a row of the answer is about: by its id, or by its place where it has none. */
function answered({ id, place }, batch) {
  if (id !== null) return batch.find((event) => event.id === id);
  const event = Number.isInteger(place) ? batch[place] : undefined;
  return event && unreadable(event.id) ? event : undefined;
}

/**
 * What an answer is worth.
 * @param {{status: number, type: string, text: string, retry: string | null}} answer
 * @param {object[]} batch as sent
 * @param {number} now milliseconds since 1970
 * @returns {{kind: "taken", taken: {epoch: string, seq: number, aside: object | null}[]}
 *   | {kind: "refused", sentence: string | null} | {kind: "large"} | {kind: "later", wait: number}
 *   | {kind: "broken", status: number} | {kind: "failed", status: number}}  broken: the server
 *   was reached and could do nothing with this batch
 */
export function readAnswer({ status, type, text, retry }, batch, now) {
  const body = /^application\/json\b/i.test(type) ? parsed(text) : null;
  if (status === 401) return { kind: "refused", sentence: said(body) };
  if (status === 413) return { kind: "large" };
  if (status === 429 || (status === 503 && retry !== null))
    return { kind: "later", wait: retryAfter(retry, now) };
  // 422 in the server's own words: one event may spoil the JSON of all.
  if (status >= 500 || (status === 422 && said(body) !== null)) return { kind: "broken", status };
  if (status !== 200 || !Array.isArray(body?.results)) return { kind: "failed", status };
  const taken = new Map();
  for (const row of body.results) {
    if (!TAKEN.has(row?.result)) continue;
    const event = answered(row, batch);
    const { reason, sentence } = row;
    const aside = row.result === "aside" ? { reason, sentence } : null;
    if (event) taken.set(event, { epoch: event.epoch, seq: event.seq, aside });
  }
  if (taken.size === 0) return { kind: "failed", status };
  return { kind: "taken", taken: [...taken.values()] };
}

function parsed(text) {
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}

function said(body) {
  return typeof body?.sentence === "string" ? body.sentence : null;
}

/**
 * Post with the pack's token alone: no cookie, no redirect, no cache, 20 s.
 * @returns {Promise<{status: number, type: string, text: string, retry: string | null} | null>}
 *   null where no answer came whole
 */
async function post(address, pack, body) {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), TIMEOUT);
  try {
    const response = await fetch(address, {
      method: "POST",
      headers: { "Content-Type": "application/json", Authorization: `Pack ${pack.token}` },
      body: JSON.stringify(body),
      credentials: "omit",
      redirect: "error",
      cache: "no-store",
      signal: stop.signal,
    });
    const type = response.headers.get("Content-Type") ?? "";
    const retry = response.headers.get("Retry-After");
    return { status: response.status, type, text: await response.text(), retry };
  } catch {
    return null; // no signal, too slow, or a redirect to somebody's sign-in page
  } finally {
    clearTimeout(timer);
  }
}

/** Send one batch; see readAnswer for what comes back. */
export async function sendBatch(pack, batch) {
  const answer = await post(EVENTS, pack, { pack: pack.id, events: batch });
  if (answer === null) return { kind: "failed", status: 0 };
  return readAnswer(answer, batch, Date.now());
}

/** Tell the server of a loss. @returns {Promise<boolean>} whether it took it */
export async function tellLoss(pack, { device, epoch, last, found, unsent, found_at }) {
  const loss = { device, epoch, last, found, unsent, found_at };
  const answer = await post(LOSSES, pack, loss);
  return answer?.status === 200 && /^application\/json\b/i.test(answer.type);
}
