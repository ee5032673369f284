// static/site/judge.js against the engine's answers and those worked by hand.

import assert from "node:assert/strict";
import { test } from "node:test";

import { fraction, rootUp } from "../../static/site/exact.js";
import { allowedText, judge, numberLine } from "../../static/site/judge.js";
import { answer, vectors } from "./vectors.js";

const { criteria, judged, refused, lines } = vectors("judgements");

test("values are judged, in the same words, as by the engine", () => {
  for (const [index, value, result, sentence] of judged) {
    const { criterion, sums } = criteria[index];
    const found = answer(() => judge(criterion, sums, value));
    assert.deepEqual(found, { result, sentence }, JSON.stringify([index, value]));
  }
});

test("values are refused at the same field, in the same words, as by the engine", () => {
  for (const [index, value, path, sentence] of refused) {
    const { criterion, sums } = criteria[index];
    const found = answer(() => judge(criterion, sums, value));
    assert.deepEqual(found, { sentence, path }, JSON.stringify([index, value]));
  }
});

test("values judged by hand", () => {
  const byHand = vectors("by_hand");
  for (const { of, value, result, sentence, sum } of byHand.judged) {
    const found = judge(byHand.criteria[of], byHand.sums[of] ?? null, value);
    assert.deepEqual(found, { result, sentence }, sum);
  }
});

test("a number line has its marks where the engine has them, to a millionth", () => {
  for (const [index, value, { texts, ...expected }] of lines) {
    const { criterion, sums } = criteria[index];
    const { texts: said, ...places } = numberLine(criterion, sums, value);
    assert.deepEqual(said, texts);
    assert.deepEqual(Object.keys(places).sort(), Object.keys(expected).sort());
    for (const [name, mark] of Object.entries(expected)) assertNear(places[name], mark, name);
  }
});

function assertNear(found, expected, name) {
  if (Array.isArray(expected)) {
    assert.equal(found.length, expected.length, name);
    expected.forEach((each, i) => assertNear(found[i], each, name));
  } else if (expected === null) {
    assert.equal(found, null, name);
  } else {
    assert.ok(Math.abs(found - expected) < 2e-6, `${name}: ${found}, not ${expected}`);
  }
}

test("without readings the line shows the limits, and words say what is allowed", () => {
  const criterion = { kind: "measured", readings: 1, statistic: "each", unit: "mm" };
  const sums = { lower_nm: "5000000", upper_nm: "10000000", guard_square: null };
  const line = numberLine(criterion, sums);
  // An eighth of 5 mm on either side: from 4.375 to 10.625, so 0.625 / 6.25 = 0.1.
  assert.deepEqual([line.lower, line.upper, line.guardLower, line.readings], [0.1, 0.9, null, []]);
  assert.equal(allowedText(criterion, sums), "5 mm to 10 mm");
});

test("the root is the least whole number whose square reaches", () => {
  const roots = [[0, 1, 0], [1, 2, 1], [1, 1, 1], [16, 1, 4], [17, 1, 5], [33, 2, 5]];
  for (const [n, d, root] of roots) {
    assert.equal(rootUp(fraction(BigInt(n), BigInt(d))), BigInt(root), `${n}/${d}`);
  }
  const large = 10n ** 40n + 7n;
  assert.equal(rootUp(fraction(large * large)), large);
  assert.equal(rootUp(fraction(large * large + 1n)), large + 1n);
});
