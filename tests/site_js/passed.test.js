// Events over which the server breaks: found, passed over, tried again, never in others' way.
import assert from "node:assert/strict";
import test from "node:test";

import { free, Passed, waitAfter } from "../../static/site/passed.js";

/** The one store that is asked for. */
class Meta {
  rows = new Map();
  async get(store, key) { return this.rows.get(key); }
  async put(store, row) { this.rows.set(row.key, structuredClone(row)); }
}
const event = (seq, replaces = null) => ({ id: `i${seq}`, epoch: "e", seq, replaces });
const seqs = (events) => events.map(({ seq }) => seq);

/** Send as the outbox does until nothing may go at ``now``; the server breaks over ``bad``. */
async function turn(passed, queue, bad, most, now) {
  const sizes = [];
  passed.begin();
  for (;;) {
    const batch = passed.next(queue, now).slice(0, most.now);
    if (batch.length === 0) return sizes;
    sizes.push(batch.length);
    if (batch.some(({ seq }) => bad.has(seq))) {
      const next = await passed.broke(batch, now);
      if (next === "wait") return sizes;
      if (next === "halve") most.now = Math.max(1, Math.floor(batch.length / 2));
    } else {
      for (const one of batch) queue.splice(queue.indexOf(one), 1);
      await passed.taken(batch);
      most.now = Math.min(200, most.now * 2);
    }
  }
}

test("one bad event among 200 is found by halving, and all the others go in the second turn", async () => {
  for (const at of [1, 77, 128, 200]) {
    const passed = new Passed(new Meta());
    const queue = Array.from({ length: 200 }, (_, n) => event(n + 1));
    const most = { now: 200 };
    const bad = new Set([at]);
    assert.deepEqual(await turn(passed, queue, bad, most, 0), [200], "once may be chance");
    const sizes = await turn(passed, queue, bad, most, 1000);
    assert.deepEqual(seqs(queue), [at]);
    assert.equal(passed.suspects.size, 1);
    assert.ok(sizes.length < 40, String(sizes)); // under the server's 60 a minute
  }
});

test("many bad events side by side block nobody for long", async () => {
  const passed = new Passed(new Meta());
  const queue = Array.from({ length: 40 }, (_, n) => event(n + 1));
  const bad = new Set(Array.from({ length: 12 }, (_, n) => n + 5));
  const most = { now: 200 };
  let turns = 0;
  for (; queue.length > 12 && turns < 20; turns += 1) await turn(passed, queue, bad, most, turns);
  assert.deepEqual(seqs(queue), [...bad]);
  assert.ok(turns <= 8, String(turns));
});

test("what corrects a suspect waits with it, and so does what corrects that", () => {
  const events = [event(1), event(2, "i1"), event(3), event(4, "i2"), event(5, "i3")];
  assert.deepEqual(seqs(free(events, new Set(["e 1"]))), [3, 5]);
  assert.deepEqual(seqs(free(events, new Set())), [1, 2, 3, 4, 5]);
});

test("a suspect is tried again alone, ever later, and is forgotten once it is taken", async () => {
  const meta = new Meta();
  const passed = new Passed(meta);
  const queue = [event(1), event(2, "i1")];
  const bad = new Set([1]);
  const most = { now: 1 };
  let now = 0;
  for (const breaks of [1, 2, 3, 4]) {
    assert.deepEqual(await turn(passed, queue, bad, most, now), [1]);
    assert.deepEqual(await turn(passed, queue, bad, most, now + waitAfter(breaks) - 1), []);
    assert.equal(passed.known, breaks < 3 ? 0 : 1);
    now += waitAfter(breaks);
  }
  const later = new Passed(meta); // the page was opened anew
  await later.load();
  assert.equal(later.due, now);
  assert.deepEqual(await turn(later, queue, bad, most, now - 1), []);
  await later.retry();
  assert.deepEqual(await turn(later, queue, new Set(), most, now - 1), [1, 1]);
  assert.deepEqual(queue, []);
  assert.equal(later.due, null);
  await later.load();
  assert.equal(later.suspects.size, 0);
});

test("after an outage nothing waits out its time, once one of them went", async () => {
  const passed = new Passed(new Meta());
  const queue = [1, 2, 3].map((seq) => event(seq));
  const most = { now: 1 };
  const sizes = await turn(passed, queue, new Set([1, 2, 3]), most, 0);
  assert.deepEqual(sizes, [1, 1, 1]);
  passed.suspects.get("e 1").after = 5;
  await turn(passed, queue, new Set(), most, 5);
  assert.deepEqual(queue, []);
});

test("the waits grow to an hour and no further", () => {
  const waits = [1, 2, 3, 4, 5, 6, 7, 99].map(waitAfter);
  assert.deepEqual(waits, [...waits].sort((one, other) => one - other));
  assert.equal(waits.at(-1), 3_600_000);
});
