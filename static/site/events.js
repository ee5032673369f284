// Events: one scored fact or one photograph, as the server reads it (assessments/actions/events.py).

import { uuid7 } from "./uuid7.js";

const SCHEMA_VERSION = 1;
const OBSERVATION = [
  "id", "attempt", "device", "epoch", "seq", "subject", "value", "note", "replaces",
  "device_time", "device_zone", "standard_digest", "schema_version",
];
const PHOTO = [
  "kind", "id", "attempt", "device", "epoch", "seq", "subject", "sha256", "size", "width",
  "height", "claimed_at", "device_time", "device_zone", "standard_digest", "schema_version",
];

/**
 * A moment as the device's own clock and zone show it.
 * @param {Date} now
 * @returns {string} ISO 8601 with the offset, such as 2026-11-03T10:15:00.000-05:00
 */
export function deviceTime(now) {
  const ahead = -now.getTimezoneOffset();
  const local = new Date(now.getTime() + ahead * 60_000).toISOString().slice(0, -1);
  const two = (number) => String(number).padStart(2, "0");
  const size = Math.abs(ahead);
  return `${local}${ahead < 0 ? "-" : "+"}${two(Math.floor(size / 60))}:${two(size % 60)}`;
}

/** @returns {string} the device's time zone, such as America/New_York */
export function deviceZone() {
  return Intl.DateTimeFormat().resolvedOptions().timeZone || "UTC";
}

/** What both kinds share, and what stays on the device: pack and assessor. */
function common(pack, attempt, subject, now, zone) {
  return {
    id: uuid7(),
    attempt,
    subject: { kind: subject.kind, key: subject.key },
    device_time: deviceTime(now),
    device_zone: zone,
    standard_digest: pack.standard.digest,
    schema_version: SCHEMA_VERSION,
    pack: pack.id,
    assessor: pack.assessor.id,
  };
}

/**
 * One scored fact, to be numbered by db.append.
 * @param {{pack: object, attempt: string, subject: {kind: string, key: string}, value: object,
 *   note?: string, replaces?: string | null, now?: Date, zone?: string}} fact
 * @returns {(seq: number, epoch: string, device: string) => object}
 */
export function observation(fact) {
  const { pack, attempt, subject, value, note = "", replaces = null } = fact;
  const event = {
    ...common(pack, attempt, subject, fact.now ?? new Date(), fact.zone ?? deviceZone()),
    value,
    note,
    replaces,
  };
  return (seq, epoch, device) => ({ ...event, seq, epoch, device });
}

/**
 * That a photograph was taken, to be numbered by db.append.
 * @param {{pack: object, attempt: string, subject: {kind: string, key: string}, sha256: string,
 *   size: number, width: number, height: number, claimed_at?: Date, now?: Date,
 *   zone?: string}} shot  size in bytes, width and height in pixels
 * @returns {(seq: number, epoch: string, device: string) => object}
 */
export function photo(shot) {
  const { pack, attempt, subject, sha256, size, width, height } = shot;
  const now = shot.now ?? new Date();
  const event = {
    kind: "photo",
    ...common(pack, attempt, subject, now, shot.zone ?? deviceZone()),
    sha256,
    size,
    width,
    height,
    claimed_at: deviceTime(shot.claimed_at ?? now),
  };
  return (seq, epoch, device) => ({ ...event, seq, epoch, device });
}

/** The event as it is sent: without what only the device keeps. */
export function wire(event) {
  const names = event.kind === "photo" ? PHOTO : OBSERVATION;
  return Object.fromEntries(names.map((name) => [name, event[name]]));
}

/**
 * What stands for each subject, by the chain of corrections and never by a clock.
 *
 * Where two events correct the same one, the earlier in the device's numbers stands, because
 * the server takes the first and keeps the other aside. What was kept aside does not stand.
 * @param {object[]} events in the order of epoch and seq
 * @param {string} assessor
 * @param {string} attempt
 * @param {Record<string, {id: string, value: object}>} [before] what the pack brought along,
 *   by "kind:key": the server's own answer to the same question when the pack was taken
 * @returns {Map<string, object>} "kind:key" to the event (or the pack's {id, value})
 */
export function current(events, assessor, attempt, before = {}) {
  const own = events.filter(
    (event) =>
      event.kind !== "photo" &&
      event.attempt === attempt &&
      String(event.assessor) === String(assessor) &&
      !event.aside,
  );
  const known = new Set(own.map((event) => event.id));
  const corrections = new Map();
  const standing = new Map(Object.entries(before));
  for (const event of own) {
    const place = `${event.subject.kind}:${event.subject.key}`;
    const first = event.replaces === null || !known.has(event.replaces);
    if (first && !standing.has(place)) standing.set(place, event);
    if (event.replaces !== null && !corrections.has(event.replaces))
      corrections.set(event.replaces, event);
  }
  for (const [place, start] of standing) {
    let last = own.find((event) => event.id === start.id) ?? start;
    while (corrections.has(last.id)) last = corrections.get(last.id);
    standing.set(place, last);
  }
  return standing;
}
