// What the keys of a reading write. Plain text goes in and out: lengths.js reads it exactly.

const POWERS = [2, 4, 8, 16, 32, 64];
const MOST_MARKS = 11;

/**
 * The keys that a criterion's readings are typed with: `fractions` has whole inches, then halves
 * to sixty-fourths; `decimal` has digits and a point.
 * @param {Object} criterion Measured, as in the standard.
 * @returns {"fractions"|"decimal"}
 */
export function padOf(criterion) {
  const inches = criterion.unit === "in" || criterion.unit === "ft";
  return inches && !resolutionPlaces(criterion) ? "fractions" : "decimal";
}

/**
 * How many decimals a reading has when it is whole: those of the instrument's resolution, given
 * in the criterion's unit. 0 where the resolution is a fraction of an inch or not given.
 * @param {Object} criterion
 * @returns {number}
 */
export function resolutionPlaces(criterion) {
  const text = criterion.instrument?.resolution ?? "";
  const [top, bottom] = fractionOf(text);
  if (!bottom || POWERS.includes(bottom)) return 0;
  let places = 0;
  for (let power = 1; power % bottom !== 0; power *= 10) {
    places += 1;
    if (places > 6) return 0;
  }
  return top > 0 ? places : 0;
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
  const [top, bottom] = fractionOf(criterion.instrument?.resolution ?? "");
  if (criterion.unit !== "in" || top !== 1 || !POWERS.includes(bottom)) return [];
  if (criterion.statistic === "spread") return [];
  // A limit that is no whole number of nanometers lies on no mark.
  if (!/^\d+$/.test(sums.upper_nm ?? "") || !/^\d+$/.test(sums.lower_nm ?? "0")) return [];
  const mark = 25_400_000n / BigInt(bottom);
  const lowest = sums.lower_nm ? Number(BigInt(sums.lower_nm) / mark) : 0;
  const highest = Number((BigInt(sums.upper_nm) + mark - 1n) / mark);
  const within = highest - lowest + 1;
  const spare = MOST_MARKS - within;
  if (spare < (sums.lower_nm ? 2 : 1)) return [];
  const first = Math.max(0, lowest - Math.floor(spare / 2));
  return Array.from({ length: MOST_MARKS }, (_, index) => mixed(first + index, bottom));
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
 * The text after a press on a fraction key: 1/2, 1/4 and so on add up, a second press takes one
 * out again.
 * @param {string} text
 * @param {number} bottom
 * @returns {string}
 */
export function withPart(text, bottom) {
  if (text.includes(".") || text.endsWith("mm")) return text;
  const { whole, parts } = split(text);
  return mixed(whole * 64 + (parts ^ (64 / bottom)), 64);
}

/**
 * Whether a fraction key is in the text.
 * @param {string} text
 * @param {number} bottom
 * @returns {boolean}
 */
export function hasPart(text, bottom) {
  return (split(text).parts & (64 / bottom)) !== 0;
}

function split(text) {
  const found = /^(?:(\d+)(?: |$))?(?:(\d+)\/(\d+))?$/.exec(text);
  if (!found) return { whole: 0, parts: 0 };
  const [, first, top, bottom] = found;
  if (!bottom) return { whole: Number(first ?? 0), parts: 0 };
  return { whole: Number(first ?? 0), parts: (Number(top) * 64) / Number(bottom) };
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
