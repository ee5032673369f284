// Which numbers of an epoch are lost, and which were put away.
import assert from "node:assert/strict";
import test from "node:test";

import { countOf, joined, missing, rangesOf } from "../../static/site/numbers.js";

test("what is neither there nor put away is missing, wherever it was", () => {
  assert.deepEqual(missing(5, [1, 2, 3, 4, 5], []), []);
  assert.deepEqual(missing(5, [], []), [[1, 5]]);
  assert.deepEqual(missing(5, [2, 4], []), [[1, 1], [3, 3], [5, 5]]);
  assert.deepEqual(missing(9, [4, 9], [[1, 3], [6, 7]]), [[5, 5], [8, 8]]);
  assert.deepEqual(missing(4, [4], [[1, 3]]), []);
  assert.deepEqual(missing(0, [], []), []);
});

test("ranges are counted and joined as the sets of numbers that they stand for", () => {
  const all = ([first, last]) => Array.from({ length: last - first + 1 }, (_, n) => first + n);
  let state = 7;
  const random = () => (state = (state * 48271) % 2147483647) / 2147483647; // Park and Miller
  for (let round = 0; round < 300; round += 1) {
    const one = new Set(), other = new Set();
    for (let n = 1; n <= 30; n += 1) {
      if (random() < 0.4) one.add(n);
      if (random() < 0.4) other.add(n);
    }
    const both = joined(rangesOf([...one]), rangesOf([...other]));
    const union = [...new Set([...one, ...other])].sort((a, b) => a - b);
    assert.deepEqual(both, rangesOf(union)); // as few ranges as can be
    assert.deepEqual(both.flatMap(all), union);
    assert.equal(countOf(both), union.length);
    const rest = missing(30, [...one], rangesOf([...other])).flatMap(all);
    assert.deepEqual(rest, all([1, 30]).filter((n) => !union.includes(n)));
  }
});
