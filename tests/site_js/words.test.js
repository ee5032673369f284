// The words of the pages: those kept are used at once, others when the server has answered.

import assert from "node:assert/strict";
import { test } from "node:test";

const kept = new Map([["bankermark-words", JSON.stringify({ lang: "es", words: { "All": "Todos" } })]]);
const answers = [];
Object.defineProperty(globalThis, "localStorage", {
  configurable: true,
  value: { getItem: (name) => kept.get(name) ?? null, setItem: (name, text) => kept.set(name, text) },
});
globalThis.document = { documentElement: { lang: "" } };
globalThis.fetch = async () => {
  const answer = answers.shift();
  if (!answer) throw new TypeError("no signal");
  return answer;
};
const { both, freshWords, locale, t, tn } = await import("../../static/site/words.js");
const answer = (text, ok = true) => ({ ok, text: async () => text });

test("what is kept is used without a signal", async () => {
  assert.equal(t("All"), "Todos");
  assert.equal(t("Nobody"), "Nobody");
  assert.equal(await freshWords(), false);
  assert.equal(document.documentElement.lang, "es");
  assert.equal(locale("en-US"), "es");
});

test("values stand in their braces, and only there", () => {
  assert.equal(t("{a} of {b}, {c}", { a: 0, b: "{a}" }), "0 of {a}, {c}");
  assert.equal(tn(1, "{count} entry", "{count} entries"), "1 entry");
  assert.equal(tn(0, "{count} entry", "{count} entries"), "0 entries");
  assert.equal(both(["1 entry"]), "1 entry");
  assert.equal(both(["1 entry", "2 photos"]), "1 entry and 2 photos");
});

test("other words are kept and used, the same change nothing", async () => {
  const french = JSON.stringify({ lang: "fr", words: { "All": "Tous" } });
  answers.push(answer(french), answer(french), answer("<html>"), answer(french, false));
  assert.equal(await freshWords(), true);
  assert.equal(t("All"), "Tous");
  assert.equal(kept.get("bankermark-words"), french);
  assert.equal(await freshWords(), false);
  assert.equal(await freshWords(), false);
  assert.equal(await freshWords(), false);
  assert.equal(t("All"), "Tous");
  answers.push(answer(JSON.stringify({ lang: "en", words: {} })));
  assert.equal(await freshWords(), true);
  assert.equal(t("All"), "All");
  assert.equal(locale("en-US"), "en-US");
});
