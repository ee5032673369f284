// The numbers of events, epoch by epoch, as ranges [first, last]: which are on the device, which
// were put away with their packs, and which are lost. A row of meta accounts for each epoch:
// {key, epoch, away: ranges, lost: ranges, last: of an epoch that is over}.

const EPOCH = "epoch ";

/**
 * @param {number[]} numbers ascending, each once
 * @returns {[number, number][]}
 */
export function rangesOf(numbers) {
  const ranges = [];
  for (const number of numbers) {
    const last = ranges.at(-1);
    if (last && last[1] === number - 1) last[1] = number;
    else ranges.push([number, number]);
  }
  return ranges;
}

/** How many numbers are in ranges that do not overlap. */
export function countOf(ranges) {
  return ranges.reduce((sum, [first, last]) => sum + last - first + 1, 0);
}

/** Both together, ascending. @returns {[number, number][]} */
export function joined(ranges, more) {
  const result = [];
  for (const [first, last] of [...ranges, ...more].sort((one, other) => one[0] - other[0])) {
    const before = result.at(-1);
    if (before && first <= before[1] + 1) before[1] = Math.max(before[1], last);
    else result.push([first, last]);
  }
  return result;
}

/**
 * The numbers from 1 to ``last`` that are neither there nor accounted for.
 * @param {number} last @param {number[]} present ascending @param {[number, number][]} known
 * @returns {[number, number][]}
 */
export function missing(last, present, known) {
  const gone = [];
  let next = 1;
  for (const [from, to] of joined(rangesOf(present), known)) {
    if (from > next) gone.push([next, from - 1]);
    next = Math.max(next, to + 1);
  }
  if (next <= last) gone.push([next, last]);
  return gone;
}

/** Add a loss to those that were found. */
export function noteNew(meta, on, loss, then = () => {}) {
  on(meta.get("losses"), (row) => {
    const list = [...(row?.list ?? []), { ...loss, shown: false, told: false }];
    on(meta.put({ key: "losses", list }), then);
  });
}

/** Change the row that accounts for the numbers of an epoch. */
export function account(meta, on, epoch, change) {
  on(meta.get(EPOCH + epoch), (row) =>
    meta.put(change(row ?? { key: EPOCH + epoch, epoch, away: [], lost: [] })));
}

/**
 * Within a transaction over meta and events: take events off the device that the server has, and
 * note their numbers, so that nobody takes them for lost.
 * @param {IDBTransaction} tx @param {(request: IDBRequest, task: (result: any) => void) => void} on
 * @param {{epoch: string, seq: number}[]} events
 */
export function takeAway(tx, on, events) {
  const byEpoch = new Map();
  for (const { epoch, seq } of events) {
    tx.objectStore("events").delete([epoch, seq]);
    byEpoch.set(epoch, [...(byEpoch.get(epoch) ?? []), seq]);
  }
  for (const [epoch, numbers] of byEpoch) {
    const ranges = rangesOf(numbers.sort((one, other) => one - other));
    account(tx.objectStore("meta"), on, epoch, (row) =>
      ({ ...row, away: joined(row.away, ranges) }));
  }
}

/**
 * Every number given out is an event on the device, or was put away with its pack. What is
 * neither is lost, though the row of the device survived; it is noted once.
 * @param {Db} db @param {import("./mirror.js").Mirror | null} mirror
 */
export function countNumbers(db, mirror) {
  return db.run(["meta", "events"], "readwrite", (tx, on) => {
    const meta = tx.objectStore("meta");
    const events = tx.objectStore("events");
    const note = (device, unsent, row, keys, then) => {
      const gone = missing(row.last, keys.map(([, seq]) => seq), joined(row.away, row.lost));
      const lost = joined(row.lost, gone);
      meta.put({ ...row, key: EPOCH + row.epoch, lost });
      const waited = mirror === null ? countOf(gone) : mirror.unsent - unsent;
      const loss = {
        device: device.device,
        epoch: row.epoch,
        last: row.last,
        found: row.last - countOf(lost),
        unsent: Math.max(0, Math.min(countOf(gone), waited)),
        found_at: new Date().toISOString(),
      };
      noteNew(meta, on, loss, then);
    };
    // One after the other, as each loss is added to the same row.
    const check = (device, unsent, [row, ...rest]) => {
      if (!row) return;
      const after = () => check(device, unsent, rest);
      const numbers = IDBKeyRange.bound([row.epoch, 1], [row.epoch, Infinity]);
      on(events.count(numbers), (there) => {
        if (there + countOf(row.away) + countOf(row.lost) >= row.last) after();
        else on(events.getAllKeys(numbers), (keys) => note(device, unsent, row, keys, after));
      });
    };
    on(meta.get("device"), (device) =>
      on(events.index("sent").count(0), (unsent) =>
        on(meta.getAll(IDBKeyRange.bound(EPOCH, `${EPOCH}\uffff`)), (rows) =>
          check(device, unsent, epochsOf(device, rows)))));
  });
}

/** The rows of all epochs; that of the one in use goes as far as the device says. */
function epochsOf({ epoch, last }, rows) {
  const own = rows.find((row) => row.epoch === epoch) ?? { epoch, away: [], lost: [] };
  const over = rows.filter((row) => row.epoch !== epoch);
  return [...over.map((row) => ({ ...row, last: row.last ?? 0 })), { ...own, last }];
}
