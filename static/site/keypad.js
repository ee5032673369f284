// What the keys of a reading write. Plain text goes in and out: lengths.js reads it exactly.

import { t } from "./words.js";

const POWERS = [2, 4, 8, 16, 32, 64];
const FINEST = 64; // the finest mark of an inch that a length can be read to
const MOST_MARKS = 11;

/**
 * The keys that a criterion's readings are typed with: `fractions` has whole inches, then the marks
 * of a rule; `decimal` has digits and a point.
 * @param {Object} criterion Measured, as in the standard.
 * @returns {"fractions"|"decimal"}
 */
export function padOf(criterion) {
  return inches(criterion) && !resolutionPlaces(criterion) ? "fractions" : "decimal";
}

const inches = ({ unit }) => unit === "in" || unit === "ft";
const resolution = ({ instrument }) => fractionOf(instrument?.resolution ?? "");

/**
 * How many decimals a reading has when it is whole: those of the instrument's resolution, given
 * in the criterion's unit. 0 where the resolution is a fraction of an inch or not given.
 * @param {Object} criterion
 * @returns {number}
 */
export function resolutionPlaces(criterion) {
  const [top, bottom] = resolution(criterion);
  if (!bottom || (inches(criterion) && POWERS.includes(bottom))) return 0;
  let places = 0;
  for (let power = 1; power % bottom !== 0; power *= 10) {
    places += 1;
    if (places > 6) return 0;
  }
  return top > 0 ? places : 0;
}

/**
 * The marks of the rule: how many there are to an inch.
 * @param {Object} criterion Typed in fractions.
 * @returns {number} 2 to 64
 */
export function marksPerUnit(criterion) {
  const [top, bottom] = resolution(criterion);
  return top === 1 && POWERS.includes(bottom) ? bottom : FINEST;
}

/**
 * What to say where the instrument shows more than can be entered; empty where it does not.
 * @param {Object} criterion
 * @returns {string}
 */
export function coarser(criterion) {
  const [top, bottom] = resolution(criterion);
  if (padOf(criterion) !== "fractions" || !bottom || (top * FINEST) % bottom === 0) return "";
  const { resolution: shown } = criterion.instrument;
  return t("The instrument shows {resolution} {unit}: enter the nearest 1/{finest} {unit}.",
    { resolution: shown, unit: criterion.unit, finest: FINEST });
}

function fractionOf(text) {
  const found = /^(\d+)(?:\/(\d+)|\.(\d+))?$/.exec(text);
  if (!found) return [0, 0];
  const [, whole, below, decimals] = found;
  if (below) return [Number(whole), Number(below)];
  if (!decimals) return [Number(whole), 1];
  const bottom = 10 ** decimals.length;
  const top = Number(whole) * bottom + Number(decimals);
  const shared = divisor(top, bottom);
  return [top / shared, bottom / shared];
}

function divisor(a, b) {
  return b ? divisor(b, a % b) : a;
}

/**
 * The marks of a rule around the limits, as many on either side of them as there is room for and
 * never none, so that the keys lead nobody to a reading that conforms. Empty where the limits
 * lie too far apart for that.
 * @param {Object} criterion
 * @param {{lower_nm: string|null, upper_nm: string|null}} sums
 * @returns {string[]} Texts such as "3 1/16".
 */
export function marksOf(criterion, sums) {
  const bottom = marksPerUnit(criterion);
  if (criterion.unit !== "in" || padOf(criterion) !== "fractions" || !resolution(criterion)[0]) return [];
  if (criterion.statistic === "spread") return [];
  // A limit that is no whole number of nanometers lies on no mark.
  if (!/^\d+$/.test(sums.upper_nm ?? "") || !/^\d+$/.test(sums.lower_nm ?? "0")) return [];
  const mark = 25_400_000n / BigInt(bottom);
  const lowest = sums.lower_nm ? Number(BigInt(sums.lower_nm) / mark) : 0;
  const highest = Number((BigInt(sums.upper_nm) + mark - 1n) / mark);
  const within = highest - lowest + 1;
  const needed = within + (sums.lower_nm ? 2 : 1);
  if (needed > MOST_MARKS) return [];
  const count = Math.max(needed, MOST_MARKS - 1); // with eleven, Erase and Other share a key
  const spare = count - within;
  const first = Math.max(0, lowest - Math.floor(spare / 2));
  return Array.from({ length: count }, (_, index) => mixed(first + index, bottom));
}

/**
 * What a decimal reading begins with, written before anything is pressed: the whole number that
 * both limits share, such as "5." Erase takes it away.
 * @param {Object} criterion
 * @param {{lower_nm: string|null, upper_nm: string|null}} sums
 * @returns {string}
 */
export function beginning(criterion, sums) {
  const places = resolutionPlaces(criterion);
  if (!places || criterion.unit !== "in" || criterion.statistic === "spread") return "";
  if (!/^\d+$/.test(sums.upper_nm ?? "") || !/^\d+$/.test(sums.lower_nm ?? "0")) return "";
  const [lower, upper] = [sums.lower_nm ?? "0", sums.upper_nm].map((nm) => BigInt(nm) / 25_400_000n);
  return lower === upper ? `${lower}.` : "";
}

/**
 * A number of parts of an inch as a mixed number.
 * @param {number} parts
 * @param {number} bottom
 * @returns {string}
 */
export function mixed(parts, bottom) {
  const whole = Math.floor(parts / bottom);
  const rest = parts % bottom;
  if (!rest) return String(whole);
  const shared = divisor(rest, bottom);
  const fraction = `${rest / shared}/${bottom / shared}`;
  return whole ? `${whole} ${fraction}` : fraction;
}

/**
 * The text after a digit or point. A digit after a fraction does nothing: erase it first.
 * @param {string} text
 * @param {string} character
 * @returns {string}
 */
export function typed(text, character) {
  if (text.includes("/") || text.endsWith("mm") || text.length > 12) return text;
  if (character === "." && text.includes(".")) return text;
  return text + character;
}

/**
 * The readings that a press completes once the whole number stands: every mark, or first the
 * eighths and then the marks that follow one of them.
 * @param {string} whole Digits; empty is 0.
 * @param {number} marks Per inch.
 * @param {number|null} eighth The one pressed, 0 to 7.
 * @returns {string[]} at most 8
 */
export function partsAfter(whole, marks, eighth = null) {
  const bottom = eighth === null ? Math.min(marks, 8) : marks;
  const first = Number(whole) * bottom + ((eighth ?? 0) * bottom) / 8;
  const count = eighth === null ? bottom : marks / 8;
  return Array.from({ length: count }, (_, index) => mixed(first + index, bottom));
}

/**
 * The readings without the last one, and what is left of its text: as if the press that
 * completed it had not been.
 * @param {Array<{typed: string}>} readings
 * @param {string[]} marks Of the rule around the limits: such a reading was one press.
 * @returns {{readings: Array, text: string}}
 */
export function withoutLast(readings, marks) {
  const { typed: last } = readings[readings.length - 1];
  return { readings: readings.slice(0, -1), text: marks.includes(last) ? "" : erased(last) };
}

/**
 * The text with its last part taken away: a fraction and a unit go at once.
 * @param {string} text
 * @returns {string}
 */
export function erased(text) {
  if (text.endsWith(" mm")) return text.slice(0, -3);
  if (text.includes("/")) return text.includes(" ") ? text.split(" ")[0] : "";
  return text.slice(0, -1);
}

/**
 * Whether nothing more can follow: as many decimals as the instrument shows.
 * @param {string} text
 * @param {number} places
 * @returns {boolean}
 */
export function whole(text, places) {
  const point = text.indexOf(".");
  return places > 0 && point >= 0 && text.length - point - 1 >= places;
}

/**
 * The text of a reading with a line for each decimal that is still to come.
 * @param {string} text
 * @param {number} places
 * @returns {string}
 */
export function unfinished(text, places) {
  if (!text) return "▁";
  if (!places) return text;
  const point = text.indexOf(".");
  const missing = point < 0 ? places : places - (text.length - point - 1);
  return `${text}${point < 0 ? "." : ""}${"▁".repeat(Math.max(0, missing))}`;
}
