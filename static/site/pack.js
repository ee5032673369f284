// What an assessor takes up: the run, its standard, its trainees, kept whole on the device.

import { PACKS, renewAddress } from "./addresses.js";
import { takeAway } from "./numbers.js";
import { t } from "./words.js";

const SCHEMA = "bankermark/pack/1";
const TIMEOUT = 20_000;
const SENTENCES = {
  sign_in: "Sign in on this device first. What is saved on it stays.",
  offline: "There is no signal, or no answer. What is saved on this device stays.",
  answer: "The server's answer cannot be read. Try again; if it stays so, tell the office.",
  unsent: "Some of it is not sent yet. Send it first, or save the file of this device.",
};

/** Why a pack could not be had; ``kind`` is sign_in, offline, answer, unsent or refused. */
export class PackError extends Error {
  constructor(kind, sentence = t(SENTENCES[kind])) {
    super(sentence);
    this.name = "PackError";
    this.kind = kind;
  }
}

/** Ask with the person's session; the answer with its Date, or a PackError. */
async function ask(address, body) {
  const stop = new AbortController();
  const timer = setTimeout(() => stop.abort(), TIMEOUT);
  const headers = { Accept: "application/json" };
  if (body) {
    headers["Content-Type"] = "application/json";
    headers["X-CSRFToken"] = /(?:^|; )csrftoken=([^;]*)/.exec(document.cookie)?.[1] ?? "";
  }
  let response;
  let text;
  try {
    response = await fetch(address, {
      method: body ? "POST" : "GET",
      headers,
      body: body ? JSON.stringify(body) : undefined,
      credentials: "same-origin",
      redirect: "manual", // to the sign-in page
      cache: "no-store",
      signal: stop.signal,
    });
    text = await response.text();
  } catch {
    throw new PackError("offline");
  } finally {
    clearTimeout(timer);
  }
  if (response.type === "opaqueredirect" || response.status === 401) throw new PackError("sign_in");
  let answer = null;
  try {
    answer = JSON.parse(text);
  } catch {
    throw new PackError("answer");
  }
  if (response.status !== 200) {
    if (typeof answer?.sentence === "string") throw new PackError("refused", answer.sentence);
    throw new PackError("answer");
  }
  return { answer, date: response.headers.get("Date") };
}

/**
 * The runs that the person signed in may take up.
 * @returns {Promise<object[]>} @throws {PackError}
 */
export async function listRuns() {
  const { answer } = await ask(PACKS);
  if (!Array.isArray(answer.runs)) throw new PackError("answer");
  return answer.runs;
}

/**
 * Take a run up and keep it on the device.
 * @param {Db} db @param {string} run its id
 * @returns {Promise<object>} the pack as kept, with ``skew``: how many milliseconds the device's
 *   clock was ahead of the server's, or null
 * @throws {PackError | StoreError}
 */
export async function takePack(db, run) {
  const { device } = await db.device();
  const { answer, date } = await ask(PACKS, { run, device, attempts: true });
  if (answer.schema !== SCHEMA || (await digestOf(answer.standard.document)) !== answer.standard.digest)
    throw new PackError("answer");
  const pack = { ...answer, skew: date === null ? null : Date.now() - Date.parse(date) };
  await db.put("packs", pack);
  return pack;
}

/**
 * Have the pack's leave to send prolonged. @returns {Promise<object>} the pack as kept
 * @param {Db} db @param {object} pack
 */
export async function renew(db, pack) {
  const { answer } = await ask(renewAddress(pack.id), {});
  if (typeof answer.token !== "string" || Number.isNaN(Date.parse(answer.expires_at)))
    throw new PackError("answer");
  const renewed = { ...pack, token: answer.token, expires_at: answer.expires_at };
  await db.put("packs", renewed);
  return renewed;
}

/** @param {{expires_at: string}} pack @param {number} [now] milliseconds since 1970 */
export function expired(pack, now = Date.now()) {
  return Date.parse(pack.expires_at) <= now;
}

/**
 * Take packs off the device, with what the server has of them: all of it or nothing. Nothing goes
 * that is not sent; what was typed and never saved stays.
 * @param {Db} db @param {{id: string}[]} packs
 * @throws {PackError} kind unsent
 */
export async function putAway(db, packs) {
  const ids = new Set(packs.map((pack) => pack.id));
  const stores = ["meta", "packs", "events", "photos", "intents"];
  await db.run(stores, "readwrite", (tx, on) => {
    on(tx.objectStore("events").getAll(), (events) => {
      const own = events.filter((event) => ids.has(event.pack));
      if (own.some((event) => event.sent === 0)) throw new PackError("unsent");
      const held = events.filter((event) => !ids.has(event.pack));
      dropPhotos(tx.objectStore("photos"), on, own, new Set(held.map((event) => event.sha256)));
      takeAway(tx, on, own);
      for (const id of ids) tx.objectStore("packs").delete(id);
    });
    const intents = tx.objectStore("intents");
    on(intents.getAll(), (rows) => {
      for (const row of rows) if (ids.has(row.pack)) intents.delete(row.id);
    });
  });
}

/** The bytes of these events' photographs, but those that another pack's events show too. */
function dropPhotos(photos, on, events, held) {
  for (const { kind, sha256 } of events) {
    if (kind !== "photo" || held.has(sha256)) continue;
    on(photos.get(sha256), (row) => {
      if (row?.sent === 0) throw new PackError("unsent");
      photos.delete(sha256);
    });
  }
}

/**
 * The digest of a document: SHA-256 over its canonical form (RFC 8785), lower case hex.
 * @param {*} document of strings, whole numbers, booleans, null, lists and objects
 * @returns {Promise<string>}
 */
export async function digestOf(document) {
  const bytes = new TextEncoder().encode(canonical(document));
  const hash = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return Array.from(hash, (byte) => byte.toString(16).padStart(2, "0")).join("");
}

function canonical(value) {
  if (Array.isArray(value)) return `[${value.map(canonical).join(",")}]`;
  if (value === null || typeof value !== "object") return JSON.stringify(value);
  const pairs = Object.keys(value)
    .sort() // by UTF-16 code units, as the RFC asks
    .map((key) => `${JSON.stringify(key)}:${canonical(value[key])}`);
  return `{${pairs.join(",")}}`;
}
