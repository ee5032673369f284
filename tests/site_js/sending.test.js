// What an answer is worth, how much is sent at once, and how long the outbox waits.
import assert from "node:assert/strict";
import test from "node:test";

import { fileOf } from "../../static/site/export.js";
import { bearer, sentenceOf } from "../../static/site/outbox.js";
import { digestOf } from "../../static/site/pack.js";
import { batchOf, delayAfter, readAnswer, retryAfter } from "../../static/site/sending.js";

const JSON_TYPE = "application/json; charset=utf-8";
const answer = (more) => ({ status: 200, type: JSON_TYPE, text: "", retry: null, ...more });
const results = (...rows) =>
  answer({ text: JSON.stringify({ results: rows.map(([id, result]) => ({ id, result, reason: "r", sentence: "s" })) }) });

const batch = (...ids) => ids.map((id, n) => ({ id, epoch: "e", seq: n + 1 }));
const taken = (seq, aside = null) => ({ epoch: "e", seq, aside });

test("only events that were sent and are listed as taken count", () => {
  const given = results(["a", "stored"], ["b", "already"], ["c", "aside"], ["x", "stored"], ["d", "?"]);
  const found = readAnswer(given, batch("a", "b", "c", "d", "e"), 0);
  assert.deepEqual(found, {
    kind: "taken", taken: [taken(1), taken(2), taken(3, { reason: "r", sentence: "s" })],
  });
});

test("an event whose id nobody can read is answered by its place, and no other one is", () => {
  // readable_id in assessments/actions/site/aside.py: text of 1 to 80 printable characters.
  const row = (place) => ({ id: null, place, result: "aside", reason: "r", sentence: "s" });
  const given = (...places) => answer({ text: JSON.stringify({ results: places.map(row) }) });
  const odd = batch(undefined, null, 7, "", "x".repeat(81), "a\nb", "\ud83d");
  const found = readAnswer(given(0, 1, 2, 3, 4, 5, 6), odd, 0);
  assert.deepEqual(found.taken.map((one) => one.seq), [1, 2, 3, 4, 5, 6, 7]);
  assert.deepEqual(found.taken[0].aside, { reason: "r", sentence: "s" });
  for (const place of [0, 1, -1, 0.5, "0", null, undefined])
    assert.equal(readAnswer(given(place), batch("a"), 0).kind, "failed", String(place));
});

test("a sign-in page, garbage or somebody else's answer acknowledge nothing", () => {
  const page = "<!doctype html><title>Sign in to the network</title>";
  for (const wrong of [
    answer({ type: "text/html", text: page }),
    answer({ type: "text/html", text: results(["a", "stored"]).text }),
    answer({ text: page }),
    answer({ text: "null" }),
    answer({ text: '{"results": {"a": "stored"}}' }),
    answer({ text: '{"results": [null, 1, {}]}' }),
    results(["x", "stored"]),
    { ...results(["a", "stored"]), status: 201 },
    { ...results(["a", "stored"]), status: 302 },
    { ...results(["a", "stored"]), status: 422 },
  ])
    assert.equal(readAnswer(wrong, batch("a"), 0).kind, "failed", JSON.stringify(wrong));
});

test("401, 413, 429, 503 and what the server cannot do say what to do", () => {
  const refused = answer({ status: 401, text: '{"sentence": "Sign in."}' });
  assert.deepEqual(readAnswer(refused, batch("a"), 0), { kind: "refused", sentence: "Sign in." });
  assert.equal(readAnswer(answer({ status: 401, type: "text/html" }), batch("a"), 0).sentence, null);
  assert.equal(readAnswer(answer({ status: 413 }), batch("a"), 0).kind, "large");
  assert.deepEqual(readAnswer(answer({ status: 429, retry: "7" }), batch("a"), 0), {
    kind: "later", wait: 7000,
  });
  assert.equal(readAnswer(answer({ status: 503, retry: "5" }), batch("a"), 0).wait, 5000);
  assert.equal(readAnswer(answer({ status: 503 }), batch("a"), 0).kind, "broken");
  assert.equal(readAnswer({ ...results(["a", "stored"]), status: 500 }, batch("a"), 0).kind, "broken");
  const unreadable = answer({ status: 422, text: '{"sentence": "No JSON."}' });
  assert.equal(readAnswer(unreadable, batch("a"), 0).kind, "broken");
});

test("Retry-After in both forms of RFC 9110, 10.2.3, within bounds", () => {
  // The RFC's own examples: a date, and 120.
  const now = Date.parse("1999-12-31T23:58:59Z");
  assert.equal(retryAfter("Fri, 31 Dec 1999 23:59:59 GMT", now), 60_000);
  assert.equal(retryAfter("120", now), 120_000);
  assert.equal(retryAfter("0", now), 1000);
  assert.equal(retryAfter("999999", now), 3_600_000);
  assert.equal(retryAfter(null, now), 60_000);
  assert.equal(retryAfter("soon", now), 60_000);
});

test("waits double from 2 s to 5 min and are spread", () => {
  const longest = [1, 2, 3, 4, 5, 6, 7, 8, 9, 50, 5000].map((n) => delayAfter(n, () => 1));
  assert.deepEqual(longest.slice(0, 8), [2000, 4000, 8000, 16_000, 32_000, 64_000, 128_000, 256_000]);
  assert.deepEqual(longest.slice(8), [300_000, 300_000, 300_000]);
  assert.equal(delayAfter(1, () => 0), 2000);
  assert.equal(delayAfter(5, () => 0), 16_000);
});

const stored = (n, note = "") => ({
  id: `i${n}`, attempt: "a", device: "d", epoch: "e", seq: n, subject: {}, value: {}, note,
  replaces: null, device_time: "", device_zone: "", standard_digest: "", schema_version: 1,
  sent: 0, pack: "p", assessor: 7,
});

test("a batch keeps to its number and its bytes, and holds at least one", () => {
  const events = Array.from({ length: 300 }, (_, n) => stored(n));
  assert.equal(batchOf(events, 200).length, 200);
  assert.equal(batchOf(events, 3)[2].id, "i2");
  assert.equal("pack" in batchOf(events, 1)[0], false);
  const long = [1, 2, 3].map((n) => stored(n, "é".repeat(1000))); // 2,000 bytes of UTF-8 each
  assert.equal(batchOf(long, 200, 5000).length, 2);
  assert.equal(batchOf(long, 200, 10).length, 1);
  const all = batchOf(Array.from({ length: 200 }, (_, n) => stored(n, "é".repeat(2000))), 200);
  assert.ok(new TextEncoder().encode(JSON.stringify(all)).length <= 500_001);
  assert.ok(all.length > 100);
});

test("a pack that may no longer send is sent by a newer one of the same run and assessor", () => {
  const one = (id, expires_at, run = "r", assessor = 7) => ({
    id, expires_at, run: { id: run }, assessor: { id: assessor },
  });
  const now = Date.parse("2026-11-03T10:00:00Z");
  const old = one("old", "2026-11-01T00:00:00Z");
  const fresh = one("new", "2026-12-01T00:00:00Z");
  const other = one("other", "2026-12-01T00:00:00Z", "r", 8);
  assert.equal(bearer(fresh, [fresh], now).id, "new");
  assert.equal(bearer(old, [other, old, fresh], now).id, "new");
  assert.equal(bearer(old, [other, old], now).id, "old");
});

test("sentences never claim that something is sent while it is not", () => {
  const counts = { unsent: 2, unsentPhotos: 1, aside: 0 };
  assert.match(sentenceOf("waiting", counts, null), /^3 are saved on this device/);
  assert.match(sentenceOf("refused", counts, "Sign in."), /^Sign in. 3 are saved/);
  assert.match(sentenceOf("refused", { ...counts, passed: 1 }, null), /^The server cannot take some.*3 are saved/);
  assert.equal(sentenceOf("idle", { unsent: 0, unsentPhotos: 0, aside: 0 }, null), "Everything is sent.");
  assert.match(sentenceOf("idle", { unsent: 0, unsentPhotos: 0, aside: 1 }, null), /1 is kept aside/);
});

test("the file holds events as they would be sent", () => {
  const shot = { ...stored(2), kind: "photo", epoch: "f", sha256: "s" };
  const file = fileOf("d", [stored(1), shot, { ...shot, seq: 3 }]);
  assert.equal(file.schema, "bankermark/events/1");
  assert.deepEqual(file.epochs, ["e", "f"]);
  assert.deepEqual(file.photos, ["s"]);
  assert.equal("assessor" in file.events[0], false);
});

test("a document's digest follows RFC 8785", async () => {
  // The names of the RFC's example of sorting (3.2.3), in its order; the digest is of that text.
  const document = { "€": "Euro Sign", "\r": "Carriage Return", "\ufb33": "Hebrew Letter Dalet With Dagesh",
    1: "One", "😀": "Emoji: Grinning Face", "\u0080": "Control", "ö": "Latin Small Letter O With Diaeresis" };
  const text = '{"\\r":"Carriage Return","1":"One","\u0080":"Control","ö":"Latin Small Letter O With Diaeresis",' +
    '"€":"Euro Sign","😀":"Emoji: Grinning Face","\ufb33":"Hebrew Letter Dalet With Dagesh"}';
  const { createHash } = await import("node:crypto");
  assert.equal(await digestOf(document), createHash("sha256").update(text).digest("hex"));
});
