// Photographs: taken, kept in the same transaction as their event, and sent after it.
//
// A row of `photos`: {sha256, bytes (null once sent and room was needed), thumb, size, width,
// height, type, sent: 0|1, refused: null|{status, sentence, at}}. Whose it is say the events with
// its sha256: the same photograph taken twice is two events and one row. Beside what is sent, its
// event keeps {stage, claimed_from}.
// A row of `intents`: {id, pack, attempt, subject, stage, opened_at}.

import { photo } from "./events.js";
import { captureTime } from "./exif.js";
import { makePicture } from "./picture.js";
import { t } from "./words.js";

export { PhotoError } from "./picture.js";

export const ROOM = "There is no room left on this device. Send what is on it first, then go on.";

const TIMEOUT = 60_000; // two of 250 kB at 67 kbit/s
const AT_ONCE = 2; // one travels while the other waits for its answer
const ASK_AGAIN = 60 * 60 * 1000; // what the server refused is not sent anew at every turn
const broke = new Map(); // sha256 to how often the server broke over it

/**
 * Keep a photograph: its bytes, its event and the end of its intent, all or nothing.
 * @param {Db} db
 * @param {{pack: Object, attempt: string, subject: {kind: string, key: string},
 *   stage: string|null, file: File}} taken
 * @returns {Promise<Object>} the event, once it is safely on the disk
 * @throws {PhotoError} where the file is no picture; the intent stays open
 * @throws {StoreError} kind "quota" with ROOM where there is no room; nothing is kept then
 */
export async function takePhoto(db, { pack, attempt, subject, stage = null, file }) {
  const original = await file.arrayBuffer();
  const { bytes, thumb, width, height } = await makePicture(file, original);
  const sha256 = await digest(bytes);
  const claimed = claimedTime(captureTime(original), file.lastModified);
  const size = bytes.byteLength;
  const numbered = photo({
    pack, attempt, subject, sha256, size, width, height, claimed_at: claimed.at,
  });
  const make = (...number) => ({ ...numbered(...number), stage, claimed_from: claimed.from });
  const row = {
    sha256, bytes, thumb, size, width, height, type: "image/jpeg", sent: 0, refused: null,
  };
  const known = await db.get("photos", sha256);
  const also = {
    put: { photos: known?.sent === 1 ? [] : [row] },
    delete: { intents: [intentId(attempt, subject)] },
  };
  return makingRoom(db, () => db.append(make, also));
}

/**
 * When the photograph was taken, as claimed, and who says so.
 * @param {{local: string, offset: string|null}|null} camera what captureTime read
 * @param {number} lastModified milliseconds
 * @returns {{at: Date, from: "camera"|"camera_without_zone"|"file"}}
 */
export function claimedTime(camera, lastModified) {
  if (camera?.offset) return { at: new Date(camera.local + camera.offset), from: "camera" };
  // Without an offset the camera's clock is taken to show the time where the device is, which
  // is how Date reads a time without one.
  if (camera) return { at: new Date(camera.local), from: "camera_without_zone" };
  return { at: new Date(lastModified), from: "file" };
}

/** Run `store`; where there is no room, drop the bytes that the server has, and run it again. */
async function makingRoom(db, store) {
  try {
    return await store();
  } catch (error) {
    if (error.kind !== "quota") throw error;
  }
  try {
    await dropSentBytes(db);
    return await store();
  } catch (error) {
    if (error.kind === "quota") error.message = t(ROOM);
    throw error;
  }
}

/** Let go of the bytes that the server acknowledged; their thumbnails stay. */
async function dropSentBytes(db) {
  for (const row of await db.all("photos", "sent", 1)) {
    if (row.bytes) await db.put("photos", { ...row, bytes: null });
  }
}

async function digest(bytes) {
  const hash = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  return [...hash].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/**
 * Note that the camera is about to open: phones often end the page meanwhile.
 * @returns {Promise<Object>} the row; a second one for the same subject takes its place
 */
export async function intent(db, { pack, attempt, subject, stage = null }) {
  const row = {
    id: intentId(attempt, subject),
    pack: pack.id,
    attempt,
    subject,
    stage,
    opened_at: new Date().toISOString(),
  };
  await db.put("intents", row);
  return row;
}

/** The person says that no photograph was taken. */
export async function noPhoto(db, { attempt, subject }) {
  await db.delete("intents", intentId(attempt, subject));
}

/**
 * What was meant to be photographed and never came, oldest first, each with a sentence.
 * @returns {Promise<Object[]>} rows of `intents` with `sentence`
 */
export async function openIntents(db) {
  const rows = await db.all("intents");
  rows.sort((one, other) => (one.opened_at < other.opened_at ? -1 : 1));
  const packs = new Map((await db.all("packs")).map((pack) => [pack.id, pack]));
  return rows.map((row) => ({ ...row, sentence: missingSentence(row, packs.get(row.pack)) }));
}

function missingSentence({ attempt, subject }, pack) {
  const { criteria = [], stages = [] } = pack?.standard?.document ?? {};
  const among = subject.kind === "hold_point" ? stages : criteria;
  const what = among.find(({ key }) => key === subject.key)?.title ?? subject.key;
  const whose = pack?.trainees?.find((trainee) => trainee.attempt === attempt)?.name;
  return whose
    ? t("The camera was opened for {what} of {whose}, and no photo was kept. Take it again, or say that there is none.", { what, whose })
    : t("The camera was opened for {what}, and no photo was kept. Take it again, or say that there is none.", { what });
}

function intentId(attempt, { kind, key }) {
  return `${attempt} ${kind} ${key}`;
}

/**
 * The photographs of a subject, in the order taken, each once.
 * @returns {Promise<Object[]>} rows of `photos` with claimed_at and claimed_from of the event
 */
export async function photosOf(db, attempt, { kind, key }) {
  const rows = new Map();
  for (const event of await db.all("events", "attempt", attempt)) {
    if (event.kind !== "photo" || rows.has(event.sha256)) continue;
    if (event.subject.kind !== kind || event.subject.key !== key) continue;
    const row = await db.get("photos", event.sha256);
    const { claimed_at, claimed_from } = event;
    if (row) rows.set(event.sha256, { ...row, claimed_at, claimed_from });
  }
  return [...rows.values()];
}

/** The thumbnails on one screen; `release()` when it is left, or their memory stays taken. */
export class Thumbnails {
  #urls = new Set();

  /** @returns {string} an address for the `src` of an img */
  show(row) {
    const url = URL.createObjectURL(new Blob([row.thumb], { type: row.type }));
    this.#urls.add(url);
    return url;
  }

  release() {
    for (const url of this.#urls) URL.revokeObjectURL(url);
    this.#urls.clear();
  }
}

/**
 * Send the bytes of a pack's photographs, two at once, those whose event was acknowledged.
 * @param {Db} db
 * @param {{id: string, token: string}} pack
 * @param {{again?: boolean}} options again: also what was refused within the last hour
 * @returns {Promise<{sent: number, refused: number, left: number, stopped: null|{status: number,
 *   sentence: string, retryAfter: number|null}}>} stopped: why the rest must wait (status 0: no
 *   answer); whoever calls chooses when to try again
 */
export async function sendPhotos(db, pack, { again = false } = {}) {
  const told = await db.all("events", "queue", [1, pack.id]);
  const acknowledged = new Set(told.map((event) => event.sha256));
  const unsent = await db.all("photos", "sent", 0);
  const breaks = ({ sha256 }) => broke.get(sha256) ?? 0;
  const rows = unsent
    .filter((row) => acknowledged.has(row.sha256))
    .sort((one, other) => breaks(one) - breaks(other)); // so that those hold up no others
  const outcome = { sent: 0, refused: 0, left: rows.length, stopped: null };
  const queue = rows.values();
  const work = async () => {
    for (const row of queue) {
      if (!again && row.refused && Date.now() - Date.parse(row.refused.at) < ASK_AGAIN) {
        outcome.refused += 1;
        continue;
      }
      const answer = await put(pack, row);
      if (answer.taken) {
        await db.put("photos", { ...row, sent: 1, refused: null });
        outcome.sent += 1;
        outcome.left -= 1;
      } else if (answer.final) {
        const { status, sentence } = answer;
        const at = new Date().toISOString();
        await db.put("photos", { ...row, refused: { status, sentence, at } });
        outcome.refused += 1;
      } else {
        if (answer.status >= 500) broke.set(row.sha256, breaks(row) + 1);
        outcome.stopped ??= answer;
      }
      if (outcome.stopped) return;
    }
  };
  await Promise.all(Array.from({ length: AT_ONCE }, work));
  return outcome;
}

/** Send one; taken only where the server says in JSON that it holds these very bytes. */
async function put(pack, { sha256, bytes, type }) {
  let response;
  let body;
  const timeout = new AbortController();
  const timer = setTimeout(() => timeout.abort(), TIMEOUT);
  try {
    response = await fetch(`/site/photos/${sha256}/`, {
      method: "PUT",
      headers: { Authorization: `Pack ${pack.token}`, "Content-Type": type },
      body: bytes,
      credentials: "omit",
      redirect: "error",
      cache: "no-store",
      signal: timeout.signal,
    });
    body = await json(response);
  } catch {
    // No signal, a timeout, or a network that wants a sign-in first and redirects.
    return { status: 0, sentence: t("The photographs wait for a connection."), retryAfter: null };
  } finally {
    clearTimeout(timer);
  }
  const { status } = response;
  if (status === 200 && body?.sha256 === sha256) return { taken: true };
  const sentence = body?.sentence ?? t("The server answered {status} and no reason.", { status });
  // 400 says that the connection broke off; a refusal without a sentence is not the server's own.
  const waits = [400, 401, 408, 425, 429].includes(status);
  const refused = status >= 400 && status < 500 && !waits && typeof body?.sentence === "string";
  if (refused) return { final: true, status, sentence };
  const seconds = Number.parseInt(response.headers.get("Retry-After") ?? "", 10);
  return { status, sentence, retryAfter: Number.isNaN(seconds) ? null : seconds };
}

async function json(response) {
  if (!response.headers.get("Content-Type")?.startsWith("application/json")) return null;
  const text = await response.text();
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}
