// Events over which the server breaks, whenever they come: found by halving the batch, passed
// over for a while so that the others go, and tried again alone. None is ever dropped.

const WAITS = [10_000, 60_000, 300_000, 900_000, 1_800_000, 3_600_000]; // after so many breaks
const FEW = 3; // so many breaks may still be an outage; from here on it is told to the person
const IN_A_ROW = 3; // single events: then it is the server, not the event
const ROW = "passed";

const keyOf = ({ epoch, seq }) => `${epoch} ${seq}`;

/**
 * How long an event is passed over. @param {number} breaks from 1 @returns {number} milliseconds
 */
export function waitAfter(breaks) {
  return WAITS[Math.min(breaks, WAITS.length) - 1];
}

/**
 * What of the unsent may go in one batch: never a suspect, nor what corrects one, since the
 * server would set it aside as a correction of something else.
 * @param {object[]} events unsent, in their order @param {Set<string>} suspects "epoch seq"
 */
export function free(events, suspects) {
  const stays = new Set();
  return events.filter((event) => {
    const free = !suspects.has(keyOf(event)) && !stays.has(event.replaces ?? null);
    if (!free) stays.add(event.id ?? keyOf(event));
    return free;
  });
}

export class Passed {
  /** @param {Db} db */
  constructor(db) {
    this.db = db;
    this.suspects = new Map(); // "epoch seq" to {breaks, after}
    this.once = new Set(); // first events of batches that broke once
    this.hunting = false;
    this.inARow = 0;
  }

  async load() {
    this.suspects = new Map((await this.db.get("meta", ROW))?.list ?? []);
  }

  save() {
    return this.db.put("meta", { key: ROW, list: [...this.suspects] });
  }

  /** A turn of one pack begins. */
  begin() {
    this.inARow = 0;
  }

  /**
   * The events to send next: those that are free, or else one suspect whose time has come.
   * @param {object[]} events unsent ones of a pack @param {number} now milliseconds since 1970
   */
  next(events, now) {
    const rest = free(events, new Set(this.suspects.keys()));
    if (rest.length > 0) return rest;
    this.hunting = false;
    const due = events.find((event) => this.suspects.get(keyOf(event))?.after <= now);
    return due ? [due] : [];
  }

  /**
   * The server took these. @param {{epoch: string, seq: number}[]} events
   */
  async taken(events) {
    this.inARow = 0;
    let changed = false;
    for (const event of events) changed = this.suspects.delete(keyOf(event)) || changed;
    if (!changed) return;
    // It may have been an outage: the others need not wait out their time.
    for (const [key, { breaks }] of this.suspects) if (breaks < FEW) this.suspects.delete(key);
    await this.save();
  }

  /**
   * The server broke over a batch.
   * @param {{epoch: string, seq: number}[]} batch @param {number} now
   * @returns {Promise<"wait"|"halve"|"go on">} wait: what broke once may be chance
   */
  async broke(batch, now) {
    const key = keyOf(batch[0]);
    if (batch.length > 1) {
      this.hunting ||= this.once.has(key);
      this.once.add(key);
      return this.hunting ? "halve" : "wait";
    }
    const breaks = (this.suspects.get(key)?.breaks ?? 0) + 1;
    this.suspects.set(key, { breaks, after: now + waitAfter(breaks) });
    await this.save();
    this.inARow += 1;
    return this.inARow < IN_A_ROW ? "go on" : "wait";
  }

  /** Try all of them anew, as a person asks for it. */
  async retry() {
    for (const row of this.suspects.values()) row.after = 0;
    if (this.suspects.size > 0) await this.save();
  }

  /** How many broke so often that a person should know. */
  get known() {
    return [...this.suspects.values()].filter(({ breaks }) => breaks >= FEW).length;
  }

  /** When the next one is due, in milliseconds since 1970; null where there is none. */
  get due() {
    const times = [...this.suspects.values()].map(({ after }) => after);
    return times.length > 0 ? Math.min(...times) : null;
  }
}
