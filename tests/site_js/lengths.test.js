// static/site/lengths.js against the engine's answers and those worked by hand.

import assert from "node:assert/strict";
import { test } from "node:test";

import { exact, fraction, fractionText } from "../../static/site/exact.js";
import {
  LengthError, parseLength, parseQuantity, showDifference, showLength, showQuantity,
} from "../../static/site/lengths.js";
import { answer, vectors } from "./vectors.js";

const byHand = vectors("by_hand");

test("lengths are read, or refused in the same words, as by the engine", () => {
  for (const [text, unit, ...expected] of vectors("lengths").parse) {
    const found = answer(() => parseLength(text, unit));
    const told = "sentence" in found ? [found.sentence] : [found.value, found.unit, `${found.nm}`];
    assert.deepEqual(told, expected, JSON.stringify([text, unit]));
    if (told.length === 3) assert.equal(found.typed, text);
  }
});

test("lengths are shown as by the engine", () => {
  for (const [nm, unit, expected] of vectors("lengths").show) {
    assert.equal(showLength(BigInt(nm), unit), expected, `${nm} nm`);
  }
});

test("other quantities are read and refused as by the engine", () => {
  for (const [text, unit, ...expected] of vectors("quantities").parse) {
    const found = answer(() => parseQuantity(text, unit));
    const told = "sentence" in found
      ? [found.sentence]
      : [found.value, found.unit, fractionText(found.base)];
    assert.deepEqual(told, expected, JSON.stringify([text, unit]));
  }
});

test("other quantities and their differences are shown as by the engine", () => {
  for (const [base, unit, value, difference] of vectors("quantities").show) {
    const [n, d = "1"] = base.split("/");
    const exactly = fraction(BigInt(n), BigInt(d));
    assert.equal(showQuantity(exactly, unit), value, `${base} as ${unit}`);
    assert.equal(showDifference(exactly, unit), difference, `${base} as ${unit}`);
  }
});

test("lengths worked by hand", () => {
  for (const { typed, asked, value, unit, nm, shown } of byHand.lengths) {
    const found = parseLength(typed, asked);
    assert.deepEqual([found.value, found.unit, `${found.nm}`], [value, unit, nm], typed);
    assert.equal(showLength(found.nm, unit), shown, typed);
  }
});

test("other quantities worked by hand", () => {
  for (const { typed, asked, base } of byHand.quantities) {
    assert.equal(fractionText(parseQuantity(typed, asked).base), base, typed);
  }
});

test("texts refused by hand", () => {
  for (const { typed, asked, says } of byHand.refused) {
    const found = answer(() => parseQuantity(typed, asked));
    assert.ok(found.sentence?.includes(says), `${typed}: ${found.sentence}`);
  }
});

test("only a unit of length is asked for a length, and only a known unit at all", () => {
  assert.throws(() => parseLength("5", "kg"), LengthError);
  assert.throws(() => parseQuantity("5", "parsec"), LengthError);
  assert.throws(() => parseQuantity("5", "constructor"), LengthError);
  assert.throws(() => parseLength("5 constructor", "mm"), /not a unit known here/);
});

test("what is no text is refused, not read", () => {
  for (const odd of [undefined, null, 5, 5n, NaN, {}, ["5"], true]) {
    assert.throws(() => parseLength(/** @type {any} */ (odd), "mm"), LengthError);
    assert.throws(() => exact(odd), LengthError);
  }
});
