// Identifiers, events and the chain of corrections, without a browser.
import assert from "node:assert/strict";
import test from "node:test";

process.env.TZ = "America/New_York";
const { uuid7, timeOf } = await import("../../static/site/uuid7.js");
const { current, deviceTime, observation, photo, wire } = await import(
  "../../static/site/events.js"
);
const { lossBetween, parseMirror } = await import("../../static/site/mirror.js");

const pack = { id: "p1", assessor: { id: 7 }, standard: { digest: "ab".repeat(32) } };
const subject = { kind: "criterion", key: "arris" };

test("an identifier has the form and the time of RFC 9562, appendix A.6", () => {
  // The example there: 2022-02-22T14:22:22-05:00 is 0x017F22E279B0 (seen in the RFC).
  assert.equal(timeOf("017f22e2-79b0-7cc3-98c4-dc0c0c07398f"), Date.parse("2022-02-22T19:22:22Z"));
  const id = uuid7(Date.parse("2022-02-22T19:22:22Z"));
  assert.match(id, /^017f22e2-79b0-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
});

test("identifiers never run backwards: not within a millisecond, not when the clock does", () => {
  const now = Date.parse("2026-11-03T10:00:00Z");
  const ids = [];
  for (let n = 0; n < 6000; n += 1) ids.push(uuid7(now)); // more than 12 bits count
  ids.push(uuid7(now - 86_400_000));
  assert.deepEqual(ids, [...ids].sort());
  assert.equal(new Set(ids).size, ids.length);
});

test("an event has exactly the fields that the server reads", () => {
  const make = observation({ pack, attempt: "a1", subject, value: { level: 2 } });
  const event = make(3, "e1", "d1");
  // Listed in assessments/actions/events.py.
  const fields = "attempt device device_time device_zone epoch id note replaces schema_version " +
    "seq standard_digest subject value";
  assert.deepEqual(Object.keys(wire({ ...event, sent: 0 })).sort().join(" "), fields);
  assert.equal(event.assessor, 7);
  assert.equal(event.pack, "p1");
  assert.deepEqual([event.seq, event.epoch, event.device], [3, "e1", "d1"]);
});

test("a photograph's event says what it is and claims its time", () => {
  const claimed = new Date("2026-07-03T14:15:00Z");
  const shot = { pack, attempt: "a1", subject, sha256: "0".repeat(64), size: 9, width: 4, height: 3 };
  const sent = wire({ ...photo({ ...shot, claimed_at: claimed })(1, "e", "d"), stage: "x", sent: 0 });
  assert.equal(sent.kind, "photo");
  assert.equal(sent.claimed_at, "2026-07-03T10:15:00.000-04:00");
  assert.equal("stage" in sent || "sent" in sent || "value" in sent, false);
});

test("the device's time carries its offset, summer and winter", () => {
  assert.equal(deviceTime(new Date("2026-07-03T14:15:00Z")), "2026-07-03T10:15:00.000-04:00");
  assert.equal(deviceTime(new Date("2026-12-03T02:15:00Z")), "2026-12-02T21:15:00.000-05:00");
});

const scored = (id, replaces, more = {}) => ({
  id, replaces, subject, attempt: "a1", assessor: 7, device_time: "2026-01-01T00:00:00Z", ...more,
});
const standing = (events, before) =>
  current(events, "7", "a1", before).get("criterion:arris")?.id;

test("the last correction stands, whatever the clocks say", () => {
  const late = { device_time: "2031-01-01T00:00:00Z" };
  assert.equal(standing([scored("a", null, late), scored("b", "a"), scored("c", "b")]), "c");
});

test("of two corrections of one event the first numbered stands, as at the server", () => {
  assert.equal(standing([scored("a", null), scored("b", "a"), scored("c", "a")]), "b");
});

test("what was kept aside does not stand", () => {
  const aside = { aside: { reason: "replaced", sentence: "..." } };
  assert.equal(standing([scored("a", null), scored("b", "a", aside)]), "a");
});

test("others' events, other attempts and photographs do not count", () => {
  assert.equal(standing([scored("a", null, { assessor: 8 })]), undefined);
  assert.equal(standing([scored("a", null, { attempt: "a2" })]), undefined);
  assert.equal(standing([scored("a", null, { kind: "photo" })]), undefined);
});

test("what the pack brought along stands until this device corrects it", () => {
  const before = { "criterion:arris": { id: "z", value: { level: 1 } } };
  assert.equal(standing([], before), "z");
  assert.equal(standing([scored("a", "z"), scored("b", "a")], before), "b");
  assert.equal(standing([scored("old", "w")], before), "z"); // corrected elsewhere meanwhile
  const own = { "criterion:arris": { id: "a", value: { level: 1 } } };
  assert.equal(standing([scored("a", null), scored("b", "a")], own), "b");
});

test("a mirror that cannot be read counts as none", () => {
  assert.deepEqual(parseMirror("x=1; site_mirror=d_e_5_2; y=2"), {
    device: "d", epoch: "e", last: 5, unsent: 2,
  });
  assert.equal(parseMirror("x=1"), null);
  assert.equal(parseMirror("site_mirror=d_e_five_2"), null);
  assert.equal(parseMirror("site_mirror=d_e_-1_2"), null);
  assert.equal(parseMirror("site_mirror="), null);
});

test("a mirror that has seen more than the database proves a loss", () => {
  const mirror = { device: "d", epoch: "e", last: 5, unsent: 2 };
  const when = "2026-11-03T10:00:00Z";
  assert.deepEqual(lossBetween(mirror, null, when), { ...mirror, found: 0, found_at: when });
  assert.equal(lossBetween(mirror, { epoch: "f", last: 9 }, when).found, 0);
  assert.equal(lossBetween(mirror, { epoch: "e", last: 3 }, when).found, 3);
  assert.equal(lossBetween(mirror, { epoch: "e", last: 5 }, when), null);
  assert.equal(lossBetween(mirror, { epoch: "e", last: 6 }, when), null);
  assert.equal(lossBetween(null, null, when), null);
});
