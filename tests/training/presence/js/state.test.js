// How presses become rows: from memory of the rule in static/presence/state.js, worked by hand.

import assert from "node:assert/strict";
import test from "node:test";

import { toldOf } from "../../../../static/presence/send.js";
import { allowed, pressed, standing, wire } from "../../../../static/presence/state.js";

const SESSION = {
  id: "s",
  noted: [{ id: "n", person: "7", kind: "absent", at: "2026-11-03T13:20:00+00:00" }],
};
const row = (id, kind, at, more = {}) =>
  ({ id, session: "s", person: "8", kind, at, replaces: null, state: "kept", ...more });

test("what the server had and what was pressed stand together, by their times", () => {
  const rows = [
    row("b", "left", "2026-11-03T10:00:00-05:00"),
    row("a", "came", "2026-11-03T13:02:00+00:00"),
    row("c", "came", "2026-11-03T13:30:00+00:00", { person: "7", replaces: "n" }),
    row("d", "came", "2026-11-03T13:30:00+00:00", { session: "other" }),
    row("e", "absent", "2026-11-03T18:30:00+00:00", { state: "refused" }),
  ];
  assert.deepEqual(standing(SESSION, rows, "8").map((each) => each.id), ["a", "b"]);
  assert.deepEqual(standing(SESSION, rows, "7").map((each) => each.id), ["c"]);
  assert.deepEqual(standing(SESSION, [], "7").map((each) => each.id), ["n"]);
});

test("a row that the server knows already stands once", () => {
  const rows = [row("n", "absent", "2026-11-03T13:20:00+00:00", { person: "7", state: "sent" })];
  assert.equal(standing(SESSION, rows, "7").length, 1);
});

test("which keys may be pressed", () => {
  const came = row("a", "came", "2026-11-03T13:02:00Z");
  const left = row("b", "left", "2026-11-03T14:02:00Z");
  const absent = row("c", "absent", "2026-11-03T13:02:00Z");
  const cases = [
    [[], { came: true, left: false, absent: true }],
    [[came], { came: false, left: true, absent: true }],
    [[came, left], { came: true, left: false, absent: false }],
    [[absent], { came: true, left: false, absent: false }],
    [[came, left, { ...came, id: "d" }], { came: false, left: true, absent: false }],
  ];
  for (const [found, may] of cases) assert.deepEqual(allowed(found), may);
});

test("pressing the other way round takes the first press back; leaving does not", () => {
  const about = { id: "z", session: "s", person: "8", by: "1", at: "2026-11-03T13:05:00Z" };
  const came = row("a", "came", "2026-11-03T13:02:00Z");
  const absent = row("c", "absent", "2026-11-03T13:02:00Z");
  assert.equal(pressed([], "came", about).replaces, null);
  assert.equal(pressed([came], "absent", about).replaces, "a");
  assert.equal(pressed([absent], "came", about).replaces, "c");
  assert.equal(pressed([came], "left", about).replaces, null);
});

test("only the fields that the server reads are sent", () => {
  assert.deepEqual(
    Object.keys(wire(row("a", "came", "x", { by: "1", sentence: "" }))).sort(),
    ["at", "id", "kind", "person", "replaces", "session"],
  );
});

test("only answers about rows that were sent count", () => {
  const body = {
    results: [
      { id: "a", result: "stored", sentence: "" },
      { id: "b", result: "refused", sentence: "No." },
      { id: "c", result: "already" },
      { id: "d", result: "lost" },
      { id: "x", result: "stored" },
      null,
    ],
  };
  const batch = ["a", "b", "c", "d"].map((id) => ({ id }));
  assert.deepEqual(toldOf(body, batch), [
    { id: "a", state: "sent", sentence: "" },
    { id: "b", state: "refused", sentence: "No." },
    { id: "c", state: "sent", sentence: "" },
  ]);
  for (const none of [null, {}, { results: "all" }]) assert.deepEqual(toldOf(none, batch), []);
});
