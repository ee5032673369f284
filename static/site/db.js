// What the device keeps. An event is saved when its transaction is complete, not before: the
// transaction takes the next number and stores the event, and asks for strict durability.

import { lossBetween, read, write } from "./mirror.js";
import { account, countNumbers, noteNew } from "./numbers.js";
import { timeOf, uuid7 } from "./uuid7.js";
import { t } from "./words.js";

const NAME = "bankermark";
const VERSION = 1;
const STRICT = { durability: "strict" };
const NAMED = ["epoch", "last", "found"]; // what tells losses apart
const SENTENCES = {
  quota: "This device has no room left. Nothing was saved. Free some space, then save again.",
  closed: "The store of this page was closed. Nothing was saved. Reload the page.",
  blocked: "Another tab holds an older store open. Close the other tabs of this page.",
  broken: "This device could not save. Nothing was saved. Write it on paper and reload the page.",
};

/** Nothing was saved, and why; ``kind`` is quota, closed, blocked or broken. */
export class StoreError extends Error {
  /** @param {"quota"|"closed"|"blocked"|"broken"} kind @param {unknown} [cause] */
  constructor(kind, cause) {
    super(t(SENTENCES[kind]), { cause });
    this.name = "StoreError";
    this.kind = kind;
  }
}

/** @param {DOMException | null} error @returns {StoreError} */
function storeError(error) {
  if (error?.name === "QuotaExceededError") return new StoreError("quota", error);
  if (error?.name === "InvalidStateError") return new StoreError("closed", error);
  return new StoreError("broken", error);
}

/** @param {IDBDatabase} raw */
function build(raw) {
  raw.createObjectStore("meta", { keyPath: "key" });
  raw.createObjectStore("packs", { keyPath: "id" });
  const events = raw.createObjectStore("events", { keyPath: ["epoch", "seq"] });
  events.createIndex("id", "id", { unique: true });
  events.createIndex("sent", "sent");
  events.createIndex("queue", ["sent", "pack"]);
  events.createIndex("attempt", "attempt");
  events.createIndex("aside", "aside.reason"); // only those kept aside have one
  const photos = raw.createObjectStore("photos", { keyPath: "sha256" });
  photos.createIndex("sent", "sent");
  raw.createObjectStore("intents", { keyPath: "id" });
  raw.createObjectStore("drafts", { keyPath: "id" });
}

/** The open database. Every method rejects with StoreError. */
export class Db {
  /** @param {IDBDatabase} raw @param {(sentence: string) => void} onClosed */
  constructor(raw, onClosed) {
    this.raw = raw;
    this.open = true;
    const gone = (sentence) => {
      this.open = false;
      raw.close();
      onClosed(sentence);
    };
    raw.onversionchange = () =>
      gone(t("Another page changes or deletes the store of this device. Reload the page."));
    raw.onclose = () =>
      gone(t("The browser closed the store of this device. Reload the page before you go on."));
  }

  /**
   * Run one transaction; the promise holds when it is complete.
   * @template T
   * @param {string[]} stores
   * @param {"readonly"|"readwrite"} mode
   * @param {(tx: IDBTransaction, on: (request: IDBRequest, task: (result: any) => void) => void,
   *   give: (value: T) => void) => void} work  ``on`` goes on when a request has its result
   * @returns {Promise<T>}
   */
  run(stores, mode, work) {
    return new Promise((resolve, reject) => {
      if (!this.open) throw new StoreError("closed");
      const tx = this.raw.transaction(stores, mode, mode === "readwrite" ? STRICT : {});
      let result;
      let failure = null;
      tx.oncomplete = () => resolve(result);
      tx.onabort = () => reject(failure ?? storeError(tx.error));
      const give = (value) => {
        result = value;
      };
      // An error thrown in a request's handler aborts the transaction, but only its name is kept.
      const safely = (task) => (...given) => {
        try {
          task(...given);
        } catch (error) {
          failure = error;
          tx.abort();
        }
      };
      const on = (request, task) => {
        request.onsuccess = safely(() => task(request.result));
      };
      safely(work)(tx, on, give);
    }).catch((error) => {
      throw error instanceof DOMException ? storeError(error) : error;
    });
  }

  /** @param {string} store @param {IDBValidKey} key */
  get(store, key) {
    return this.run([store], "readonly", (tx, on, give) =>
      on(tx.objectStore(store).get(key), give));
  }

  /** @param {string} store @param {string} [index] @param {IDBKeyRange|IDBValidKey} [range] */
  all(store, index, range) {
    return this.run([store], "readonly", (tx, on, give) => {
      const place = index ? tx.objectStore(store).index(index) : tx.objectStore(store);
      on(place.getAll(range), give);
    });
  }

  /** @param {string} store @param {object} value */
  put(store, value) {
    return this.run([store], "readwrite", (tx, on, give) =>
      on(tx.objectStore(store).put(value), give));
  }

  /** @param {string} store @param {IDBValidKey} key */
  delete(store, key) {
    return this.run([store], "readwrite", (tx) => tx.objectStore(store).delete(key));
  }

  /**
   * Store one event under the next number, and what belongs to it, or nothing at all.
   * @param {(seq: number, epoch: string, device: string) => object} make
   * @param {{put?: Record<string, object[]>, delete?: Record<string, IDBValidKey[]>}} [also]
   *   rows of other stores that change in the same transaction
   * @returns {Promise<object>} the event as stored, once it is on the device
   */
  async append(make, also = {}) {
    const more = [...Object.keys(also.put ?? {}), ...Object.keys(also.delete ?? {})];
    const stores = [...new Set(["meta", "events", ...more])];
    const { event, mirror } = await this.run(stores, "readwrite", (tx, on, give) => {
      const meta = tx.objectStore("meta");
      const events = tx.objectStore("events");
      on(meta.get("device"), (device) => {
        const seq = device.last + 1;
        const event = { ...make(seq, device.epoch, device.device), sent: 0 };
        meta.put({ ...device, last: seq });
        events.add(event);
        for (const [store, rows] of Object.entries(also.put ?? {}))
          for (const row of rows) tx.objectStore(store).put(row);
        for (const [store, keys] of Object.entries(also.delete ?? {}))
          for (const key of keys) tx.objectStore(store).delete(key);
        on(events.index("sent").count(0), (unsent) =>
          give({ event, mirror: { ...device, last: seq, unsent } }));
      });
    });
    write(mirror);
    return event;
  }

  /**
   * Events that the server has not acknowledged, in their order.
   * @param {number} [limit] all where there is none @param {string} [pack] only those of it
   */
  unsent(limit, pack) {
    return this.run(["events"], "readonly", (tx, on, give) => {
      const events = tx.objectStore("events");
      const request = pack
        ? events.index("queue").getAll([0, pack], limit)
        : events.index("sent").getAll(0, limit);
      on(request, give);
    });
  }

  /**
   * Note that the server has these events. They stay on the device.
   * @param {{epoch: string, seq: number, aside?: {reason: string, sentence: string} | null}[]}
   *   answered  ``aside`` where the server keeps the event aside
   * @param {string} when ISO 8601
   */
  async acknowledge(answered, when) {
    const mirror = await this.run(["meta", "events"], "readwrite", (tx, on, give) => {
      const events = tx.objectStore("events");
      for (const { epoch, seq, aside = null } of answered) {
        on(events.get([epoch, seq]), (event) => {
          if (event) events.put({ ...event, sent: 1, sent_at: when, aside });
        });
      }
      on(tx.objectStore("meta").get("device"), (device) =>
        on(events.index("sent").count(0), (unsent) => give({ ...device, unsent })));
    });
    write(mirror);
  }

  /**
   * @returns {Promise<{events: number, unsent: number, aside: number, photos: number,
   *   unsentPhotos: number}>}
   */
  counts() {
    return this.run(["events", "photos"], "readonly", (tx, on, give) => {
      const found = {};
      const count = (name, place, key) =>
        on(place.count(key), (number) => {
          found[name] = number;
        });
      count("events", tx.objectStore("events"));
      count("unsent", tx.objectStore("events").index("sent"), 0);
      count("aside", tx.objectStore("events").index("aside"));
      count("photos", tx.objectStore("photos"));
      count("unsentPhotos", tx.objectStore("photos").index("sent"), 0);
      give(found);
    });
  }

  /** @returns {Promise<{device: string, epoch: string, last: number}>} */
  device() {
    return this.get("meta", "device");
  }

  /** @returns {Promise<object[]>} what was found lost: mirror.js, with ``shown`` and ``told`` */
  async losses() {
    return (await this.get("meta", "losses"))?.list ?? [];
  }

  /** @param {object} loss one of losses() @param {{shown?: boolean, told?: boolean}} change */
  noteLoss(loss, change) {
    return this.run(["meta"], "readwrite", (tx, on) => {
      const meta = tx.objectStore("meta");
      on(meta.get("losses"), (row) => {
        const same = (one) => NAMED.every((name) => one[name] === loss[name]);
        const list = row.list.map((one) => (same(one) ? { ...one, ...change } : one));
        meta.put({ key: "losses", list });
      });
    });
  }

  /**
   * Find what is lost, and begin a new epoch where numbers of the old one were given out: by the
   * cookie, which may know of more than the database, and by counting what the database has.
   */
  async begin() {
    const mirror = read(); // before the transaction: the database is never behind an older cookie
    const begun = await this.beginEpoch(mirror);
    await countNumbers(this, mirror);
    write(begun);
  }

  beginEpoch(mirror) {
    return this.run(["meta", "events"], "readwrite", (tx, on, give) => {
      const meta = tx.objectStore("meta");
      on(meta.get("device"), (found) => {
        const loss = lossBetween(mirror, found ?? null, new Date().toISOString());
        let device = found;
        if (!found || loss) {
          const after = mirror ? timeOf(mirror.epoch) + 1 : 0;
          device = {
            key: "device",
            device: found?.device ?? mirror?.device ?? crypto.randomUUID(),
            epoch: uuid7(Math.max(Date.now(), after)), // epochs sort in their order
            last: 0,
          };
          meta.put(device);
          if (found)
            account(meta, on, found.epoch, (row) => ({ ...row, last: found.last }));
        }
        if (loss) noteNew(meta, on, loss);
        on(tx.objectStore("events").index("sent").count(0), (unsent) =>
          give({ ...device, unsent }));
      });
    });
  }

  close() {
    this.open = false;
    this.raw.close();
  }
}

/**
 * Open the store of this device, and make it where there is none.
 * @param {{onClosed?: (sentence: string) => void, onBlocked?: (sentence: string) => void}} [hooks]
 *   told, as sentences, that the store was closed under the page, or that opening waits
 * @returns {Promise<Db>}
 */
export async function openDb({ onClosed = () => {}, onBlocked = () => {} } = {}) {
  const raw = await new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, VERSION);
    request.onupgradeneeded = () => build(request.result);
    request.onblocked = () => onBlocked(SENTENCES.blocked);
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(storeError(request.error));
  });
  const db = new Db(raw, onClosed);
  await db.begin();
  return db;
}
