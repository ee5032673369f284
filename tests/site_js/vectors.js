// The shared cases in tests/vectors, and how a refusal is compared.

import assert from "node:assert/strict";
import { readFileSync } from "node:fs";

import { InputError } from "../../static/site/exact.js";

/** @param {string} name without `.json` */
export function vectors(name) {
  const file = new URL(`../vectors/${name}.json`, import.meta.url);
  const found = JSON.parse(readFileSync(file, "utf8"));
  for (const [part, rows] of Object.entries(found)) {
    assert.ok(Object.keys(rows).length > 0, `${part} is empty`);
  }
  return found;
}

/** What `make` returns, or `{sentence, path}` of its refusal. @param {() => any} make */
export function answer(make) {
  try {
    return make();
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return { sentence: error.sentence, path: error.path };
  }
}
