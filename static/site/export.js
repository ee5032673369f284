// What is on the device as one file, for a device that cannot send.

import { wire } from "./events.js";

const SCHEMA = "bankermark/events/1";

/**
 * Every event of an assessor, sent or not, as a file that the desk can read in.
 * @param {Db} db
 * @param {string | number} assessor
 * @returns {Promise<Blob>} JSON
 */
export async function exportFile(db, assessor) {
  const { device } = await db.device();
  const own = (await db.all("events")).filter(
    (event) => String(event.assessor) === String(assessor),
  );
  const file = { ...fileOf(device, own), assessor: String(assessor) };
  return new Blob([JSON.stringify(file, null, 1)], { type: "application/json" });
}

/** The document of the file; events in the order of epoch and seq. */
export function fileOf(device, events) {
  return {
    schema: SCHEMA,
    device,
    epochs: [...new Set(events.map((event) => event.epoch))],
    events: events.map(wire),
    photos: [...new Set(events.filter((event) => event.kind === "photo").map((e) => e.sha256))],
  };
}
