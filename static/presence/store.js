// What the device keeps about presence: who is expected, and every press. A press is saved when
// its transaction is complete, not before; nothing that the server has not got is ever deleted.

import { t } from "../site/words.js";

const NAME = "bankermark-presence";
const STRICT = { durability: "strict" };
const FAILED =
  "This device could not save. Nothing was noted. Write it on paper, and reload the page.";

/** What a row is on its way: kept here, stored by the server, or refused by it. */
export const KEPT = "kept";
export const SENT = "sent";
export const REFUSED = "refused";

/** @returns {Promise<Store>} @throws {Error} with a sentence for people */
export async function openStore() {
  const raw = await new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, 1);
    request.onupgradeneeded = () => {
      request.result.createObjectStore("meta", { keyPath: "key" });
      request.result.createObjectStore("rows", { keyPath: "id" });
    };
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(new Error(t(FAILED)));
  });
  raw.onversionchange = () => raw.close();
  return new Store(raw);
}

/** The open store. Every method rejects with a sentence where nothing was saved. */
class Store {
  constructor(raw) {
    this.raw = raw;
  }

  run(names, mode, work) {
    return new Promise((resolve, reject) => {
      const tx = this.raw.transaction(names, mode, mode === "readwrite" ? STRICT : {});
      let request = null;
      tx.oncomplete = () => resolve(request?.result);
      tx.onabort = () => reject(new Error(t(FAILED), { cause: tx.error }));
      request = work(tx) ?? null;
    }).catch((error) => {
      throw error instanceof DOMException ? new Error(t(FAILED), { cause: error }) : error;
    });
  }

  /** @returns {Promise<object | undefined>} the sessions taken along, as the server gave them */
  async roster() {
    return (await this.run(["meta"], "readonly", (tx) => tx.objectStore("meta").get("roster")))
      ?.roster;
  }

  keepRoster(roster) {
    return this.run(["meta"], "readwrite", (tx) =>
      tx.objectStore("meta").put({ key: "roster", roster }));
  }

  /** @returns {Promise<object[]>} all rows, in the order in which they were pressed */
  async rows() {
    return this.run(["rows"], "readonly", (tx) => tx.objectStore("rows").getAll());
  }

  /** Save one press. @param {object} row */
  add(row) {
    return this.run(["rows"], "readwrite", (tx) =>
      tx.objectStore("rows").add({ ...row, state: KEPT, sentence: "" }));
  }

  /** Note what the server answered. @param {{id: string, state: string, sentence: string}[]} told */
  answered(told) {
    return this.run(["rows"], "readwrite", (tx) => {
      const rows = tx.objectStore("rows");
      for (const { id, state, sentence } of told) {
        const found = rows.get(id);
        found.onsuccess = () => {
          if (found.result) rows.put({ ...found.result, state, sentence });
        };
      }
    });
  }

  /** Put away who was expected and what the server has; what it has not got stays. */
  putAway() {
    return this.run(["meta", "rows"], "readwrite", (tx) => {
      tx.objectStore("meta").delete("roster");
      const rows = tx.objectStore("rows");
      const all = rows.getAll();
      all.onsuccess = () => {
        for (const row of all.result) if (row.state !== KEPT) rows.delete(row.id);
      };
    });
  }
}
