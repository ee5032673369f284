// Exact numbers, as assessments/engine/numbers.py: fractions of BigInts, never a float.

import { t } from "./words.js";

/** @typedef {{n: bigint, d: bigint}} Exact a fraction in lowest terms, `d` above 0 */

/** What cannot be read. `sentence` says what to write instead, `path` names the field. */
export class InputError extends Error {
  /** @param {string} sentence @param {string} [path] */
  constructor(sentence, path = "") {
    super(sentence);
    this.name = "InputError";
    this.sentence = sentence;
    this.path = path;
  }

  /** The same error, seen from what holds the field. @param {string} prefix */
  under(prefix) {
    const joint = !this.path || this.path.startsWith("[") ? "" : ".";
    return new InputError(this.sentence, prefix + joint + this.path);
  }
}

/** @param {bigint} n @param {bigint} [d] any but 0 @returns {Exact} */
export function fraction(n, d = 1n) {
  let [a, b] = [n < 0n ? -n : n, d < 0n ? -d : d];
  while (b) [a, b] = [b, a % b];
  if (d < 0n) a = -a;
  return { n: n / a, d: d / a };
}

/** @type {(x: Exact, y: Exact) => Exact} */
export const add = (x, y) => fraction(x.n * y.d + y.n * x.d, x.d * y.d);
/** @type {(x: Exact, y: Exact) => Exact} */
export const subtract = (x, y) => fraction(x.n * y.d - y.n * x.d, x.d * y.d);
/** @type {(x: Exact, y: Exact) => Exact} */
export const multiply = (x, y) => fraction(x.n * y.n, x.d * y.d);
/** @type {(x: Exact, y: Exact) => Exact} */
export const divide = (x, y) => fraction(x.n * y.d, x.d * y.n);
/** @type {(x: Exact, y: Exact) => boolean} */
export const below = (x, y) => x.n * y.d < y.n * x.d;
/** @type {(x: Exact, y: Exact) => Exact} */
export const lesser = (x, y) => (below(y, x) ? y : x);
/** @type {(x: Exact, y: Exact) => Exact} */
export const greater = (x, y) => (below(x, y) ? y : x);

/** A decimal in plain digits: `1.25`, `.5`. @param {string} digits */
export function decimal(digits) {
  const [whole, rest = ""] = digits.split(".");
  return fraction(BigInt(whole + rest), 10n ** BigInt(rest.length));
}

/** The number in a document's text: a decimal or a fraction, nothing else. @param {unknown} text */
export function exact(text) {
  const parts = typeof text === "string" &&
    /^(-?)(\d{1,30}(?:\.\d{1,30})?)(?:\/(\d{1,30}))?$/.exec(text);
  if (!parts || (parts[3] && parts[2].includes("."))) {
    throw new InputError(t('Write an exact decimal or fraction as text, such as "0.7" or "7/10".'));
  }
  const below = BigInt(parts[3] ?? 1);
  if (!below) throw new InputError(t("A fraction cannot have 0 under the line."));
  const value = divide(decimal(parts[2]), fraction(below));
  return parts[1] ? fraction(-value.n, value.d) : value;
}

/** `3/2`, or `2` when it is whole. @param {Exact} x */
export const fractionText = (x) => (x.d === 1n ? `${x.n}` : `${x.n}/${x.d}`);

/** A decimal of up to 6 places, else a fraction. @param {Exact} x */
export function numberText(x) {
  const places = decimalPlaces(x, 6);
  return places === null ? fractionText(x) : decimalText(x, places);
}

/** How many places write the number exactly; null when more than `most`. @param {Exact} x
 * @param {number} most */
export function decimalPlaces(x, most) {
  for (let places = 0, power = 1n; places <= most; places += 1, power *= 10n) {
    if (power % x.d === 0n) return places;
  }
  return null;
}

/** The number with so many places, to the nearest. Nothing is shown with fewer places than write
 * it exactly when it has up to 6, so no half is ever rounded. @param {Exact} x
 * @param {number} places */
export function decimalText(x, places) {
  const scaled = (x.n < 0n ? -x.n : x.n) * 10n ** BigInt(places);
  const whole = (2n * scaled + x.d) / (2n * x.d);
  const digits = `${whole}`.padStart(places + 1, "0");
  const point = digits.length - places;
  const shown = places ? `${digits.slice(0, point)}.${digits.slice(point)}` : digits;
  return x.n < 0n && whole ? `-${shown}` : shown;
}

/** The smallest whole number whose square is at least `square`. @param {Exact} square */
export function rootUp(square) {
  let [low, high] = [0n, 1n];
  const enough = (/** @type {bigint} */ root) => root * root * square.d >= square.n;
  while (!enough(high)) high *= 2n;
  while (low < high) {
    const middle = (low + high) / 2n;
    if (enough(middle)) high = middle;
    else low = middle + 1n;
  }
  return low;
}
