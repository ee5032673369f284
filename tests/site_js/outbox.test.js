// When the outbox takes its next turn.
import assert from "node:assert/strict";
import test from "node:test";

import { startOutbox } from "../../static/site/outbox.js";

/** An outbox whose first turn is under way; each turn ends without a signal once it is let go. */
function underWay() {
  const heard = {};
  const turns = [];
  const set = (name, value) =>
    Object.defineProperty(globalThis, name, { value, configurable: true, writable: true });
  set("addEventListener", (name, listener) => { heard[name] = listener; });
  set("document", { addEventListener: () => {}, visibilityState: "visible" });
  set("navigator", { locks: { request: async (name, options, run) => run({}) } });
  const db = { open: true, all: () => new Promise((go) => turns.push(go)), losses: async () => [] };
  const outbox = startOutbox(db);
  outbox.passed = { load: async () => {} };
  outbox.recount = async () => {};
  outbox.rest = async () => {
    outbox.waits = true;
    outbox.state.retryAt = Date.now() + 60_000;
  };
  const settled = () => new Promise((done) => setTimeout(done, 5));
  return { outbox, heard, turns, settled };
}

test("a signal that comes back while a turn fails is not left to a timer", async () => {
  const { heard, turns, settled } = underWay();
  assert.equal(turns.length, 1);
  heard.online();
  turns[0]([]);
  await settled();
  assert.equal(turns.length, 2, "a second turn at once");
  turns[1]([]);
  await settled();
  assert.equal(turns.length, 2, "and no third");
});

test("what is saved while a turn fails waits for the signal as everything does", async () => {
  const { outbox, turns, settled } = underWay();
  outbox.nudge();
  turns[0]([]);
  await settled();
  assert.equal(turns.length, 1);
});
