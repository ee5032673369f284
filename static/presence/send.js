// Sends what was pressed, in order, from one tab at a time. Only a JSON answer with status 200
// counts, and only for the ids that it lists: a sign-in page of some network says nothing.

import { deviceTime } from "../site/events.js";
import { delayAfter, retryAfter } from "../site/sending.js";
import { wire } from "./state.js";
import { KEPT, REFUSED, SENT } from "./store.js";

const ROSTER = "/site/presence/sessions/";
const EVENTS = "/site/presence/events/";
const LOCK = "bankermark-presence";
const MOST = 100;
const TIMEOUT = 20_000;
const STATES = { stored: SENT, already: SENT, refused: REFUSED };

/**
 * Ask one address for JSON with the session of this browser.
 * @returns {Promise<{status: number, body: any, retry: string | null} | null>} null: no answer
 */
async function ask(address, options = {}) {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), TIMEOUT);
  try {
    const answer = await fetch(address, {
      credentials: "same-origin", redirect: "error", cache: "no-store", signal: stop.signal,
      ...options,
    });
    if (!/^application\/json\b/i.test(answer.headers.get("Content-Type") ?? "")) return null;
    const body = await answer.json();
    return { status: answer.status, body, retry: answer.headers.get("Retry-After") };
  } catch {
    return null; // no signal, too slow, or somebody's sign-in page
  } finally {
    clearTimeout(timer);
  }
}

/**
 * Take along who is expected.
 * @returns {Promise<{roster: object | null, sentence: string, signIn: boolean, off: number}>}
 *   off: milliseconds by which this device's clock is ahead of the server's
 */
export async function takeRoster() {
  const answer = await ask(ROSTER);
  const signIn = answer?.status === 401;
  if (answer?.status !== 200)
    return { roster: null, sentence: answer?.body?.sentence ?? "", signIn, off: 0 };
  return {
    roster: answer.body, sentence: "", signIn: false,
    off: Date.now() - Date.parse(answer.body.now),
  };
}

async function post(by, rows) {
  const token = /(?:^|; )csrftoken=([^;]*)/.exec(document.cookie)?.[1] ?? "";
  return ask(EVENTS, {
    method: "POST",
    headers: { "Content-Type": "application/json", "X-CSRFToken": token },
    body: JSON.stringify({ by, sent_at: deviceTime(new Date()), rows: rows.map(wire) }),
  });
}

/** Sends in turns; tells how it stands after each. */
export class Sender {
  /** @param {Store} store @param {(told: {sentence: string, clock: string}) => void} tell */
  constructor(store, tell) {
    this.store = store;
    this.tell = tell;
    this.failures = 0;
    this.timer = null;
    this.turn = Promise.resolve();
  }

  /** Send what waits, after the turn that goes on. @param {string} by who is signed in here */
  send(by) {
    const turn = () => navigator.locks.request(LOCK, () => this.sendAll(by));
    this.turn = this.turn.then(turn, turn);
    return this.turn;
  }

  async sendAll(by) {
    clearTimeout(this.timer);
    for (;;) {
      const waiting = (await this.store.rows()).filter((row) => row.state === KEPT);
      const batch = waiting.filter((row) => row.by === by).slice(0, MOST);
      if (batch.length === 0) return this.tell({ sentence: "" });
      const answer = await post(by, batch);
      const told = answer?.status === 200 ? toldOf(answer.body, batch) : [];
      if (told.length === 0) return this.later(by, answer);
      await this.store.answered(told);
      this.failures = 0;
      this.tell({ sentence: "", clock: answer.body.clock ?? "" });
    }
  }

  later(by, answer) {
    this.failures += 1;
    const asked = answer?.status === 503 || answer?.status === 429;
    const wait = asked ? retryAfter(answer.retry, Date.now()) : delayAfter(this.failures);
    this.timer = setTimeout(() => this.send(by), wait);
    this.tell({ sentence: answer?.body?.sentence ?? "" });
  }
}

/** What an answer says of the rows that were sent. */
export function toldOf(body, batch) {
  const ids = new Set(batch.map((row) => row.id));
  return (Array.isArray(body?.results) ? body.results : [])
    .filter((each) => ids.has(each?.id) && each.result in STATES)
    .map(({ id, result, sentence }) => ({ id, state: STATES[result], sentence: sentence ?? "" }));
}
