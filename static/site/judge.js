// What an observation comes to by itself: as assessments/engine/judge.py and kinds/, without the
// probability. tests/vectors holds both to the same results and sentences.

import {
  InputError, add, below, divide, exact, fraction, fractionText, greater, lesser, multiply,
  rootUp, subtract,
} from "./exact.js";
import { baseOf, showDifference, showQuantity, unitNamed } from "./lengths.js";
import { t } from "./words.js";

/** @typedef {import("./exact.js").Exact} Exact */
/** @typedef {{lower: Exact | null, upper: Exact | null}} Limits both ends are allowed values */
/** @typedef {{result: "met" | "not_met" | "within_guard_band" | "not_applicable" | "missing",
 *   sentence: string}} Judgement */
/** @typedef {{lower_nm: string | null, upper_nm: string | null,
 *   guard_square: [string, string] | null}} Sums limits of a measured criterion in the base unit
 *   of its quantity (nm for a length), and the square of its guard band, as the pack has them */
/** @typedef {Record<string, any>} Plain a criterion or a value (assessments/engine/FORMATS.md) */

const ZERO = fraction(0n);
const INSTANT = new RegExp(
  /^(\d{4}-\d\d-\d\d)[T ](\d\d):(\d\d)(?::(\d\d)(?:[.,](\d+))?)?/.source +
    /(?:Z|([+-])(\d\d):(\d\d))$/.source,
);
const HOW = {
  each: "Each of {count} readings: {found}; allowed: {limits}.",
  mean: "The mean of {count} readings: {found}; allowed: {limits}.",
  largest: "The largest of {count} readings: {found}; allowed: {limits}.",
  smallest: "The smallest of {count} readings: {found}; allowed: {limits}.",
  spread: "The spread of {count} readings: {found}; allowed: {limits}.",
};
const KINDS = { rated, measured, checked, counted, timed };

/**
 * The result of a value under a criterion, and its sentence.
 * @param {Plain} criterion of a sealed standard
 * @param {Sums | null} sums needed for a measured criterion
 * @param {Plain} value
 * @returns {Judgement}
 * @throws {InputError} at the field of the value that cannot be read
 */
export function judge(criterion, sums, value) {
  if (!isObject(value)) throw new InputError(t("Write an object here: {…}."));
  if ("cleared" in value) {
    checkTrue(fields(value, ["cleared"]).cleared, "cleared");
    return { result: "missing", sentence: t("The observation was taken back.") };
  }
  if ("not_applicable" in value) return notApplicable(criterion, value);
  return KINDS[criterion.kind](criterion, value, sums);
}

function notApplicable(criterion, value) {
  fields(value, ["not_applicable", "reason"]);
  checkTrue(value.not_applicable, "not_applicable");
  if (typeof value.reason !== "string") throw new InputError(t("Write text here."), "reason");
  const reason = value.reason.trim();
  if (!reason) throw new InputError(t("Write something here: it is empty."), "reason");
  if (!criterion.not_applicable) {
    throw new InputError(
      t("The standard does not let this criterion be left out: observe it."), "not_applicable");
  }
  return { result: "not_applicable", sentence: t("Not applicable: {reason}", { reason }) };
}

function checked(criterion, value) {
  const { answer } = fields(value, ["answer"]);
  if (typeof answer !== "boolean") throw new InputError(t("Write true or false."), "answer");
  if (answer === criterion.expected) {
    return { result: "met", sentence: t(answer ? "Yes, as needed." : "No, as needed.") };
  }
  return { result: "not_met", sentence: t(answer ? "Yes; needed is no." : "No; needed is yes.") };
}

function rated(criterion, value) {
  const { level } = fields(value, ["level"]);
  const most = criterion.levels.length - 1;
  if (!isWhole(level, most)) {
    throw new InputError(t("Write the level as a whole number from 0 to {most}.", { most }), "level");
  }
  const description = criterion.levels[level].description.trim();
  const end = /[.!?…。]$/.test(description) ? "" : ".";
  const sentence = t("Level {level}: {description}", { level, description: description + end });
  if (level >= criterion.met_from) return { result: "met", sentence };
  return {
    result: "not_met",
    sentence: `${sentence} ${t("Needed is level {level} or higher.", { level: criterion.met_from })}`,
  };
}

function counted(criterion, value) {
  const { count } = fields(value, ["count"]);
  if (!isWhole(count, 1e9)) {
    throw new InputError(t("Write a whole number from {count} to {number}.", { count: 0, number: 1e9 }), "count");
  }
  const limits = limitsOf(criterion.limits, exact);
  const found = fraction(BigInt(count));
  const allowed = limitsText(limits, fractionText);
  const sentence = t("Counted {count} ({thing}); allowed: {limits}.",
    { count, thing: criterion.what, limits: allowed });
  const [over, under] = outside(limits, found, found);
  if (!over && !under) return { result: "met", sentence };
  const distance = fractionText(over ?? under);
  return {
    result: "not_met",
    sentence: `${sentence} ${t(over ? "That is {amount} too many." : "That is {amount} too few.", { amount: distance })}`,
  };
}

function timed(criterion, value) {
  fields(value, ["start"], ["end"]);
  const start = instant(value.start, "start");
  if ((value.end ?? null) === null) {
    return { result: "missing", sentence: t("Started, but the end is not noted.") };
  }
  const took = fraction(instant(value.end, "end") - start);
  if (took.n < 0n) {
    throw new InputError(t("The end lies before the start: check both times."), "end");
  }
  const unit = criterion.unit ?? "min";
  const { factor } = unitNamed(unit);
  const limits = limitsOf(criterion.limits, (text) => multiply(exact(text), factor));
  const show = (base) => showQuantity(base, unit);
  const sentence = t("Took {amount}; allowed: {limits}.",
    { amount: show(took), limits: limitsText(limits, show) });
  const [over, under] = outside(limits, took, took);
  if (!over && !under) return { result: "met", sentence };
  const distance = showDifference(over ?? under, unit);
  return {
    result: "not_met",
    sentence: `${sentence} ${t(over ? "That is {amount} too long." : "That is {amount} too short.", { amount: distance })}`,
  };
}

function measured(criterion, value, sums) {
  const readings = readingsOf(criterion, value);
  const needed = criterion.readings;
  if (readings.length < needed) {
    const sentence = t("{count} of {needed} readings are taken.", { count: readings.length, needed });
    return { result: "missing", sentence };
  }
  const found = statistics(criterion, readings);
  const limits = sumLimits(sums);
  const show = shower(criterion);
  const [low, high] = found.map(show);
  const sentence = t(needed > 1 ? HOW[criterion.statistic] : "The reading: {found}; allowed: {limits}.", {
    count: needed,
    found: found.length > 1 ? t("{low} to {high}", { low, high }) : low,
    limits: allowedText(criterion, sums),
  });
  const [over, under] = outside(limits, found[0], found[found.length - 1]);
  if (over || under) {
    const gap = (distance, text) =>
      distance ? ` ${t(text, { amount: showDifference(distance, criterion.unit) })}` : "";
    return {
      result: "not_met",
      sentence: sentence + gap(over, "That is {amount} too much.") + gap(under, "That is {amount} too little."),
    };
  }
  if (found.some((each) => inGuardBand(limits, guardSquare(sums), each))) {
    return {
      result: "within_guard_band",
      sentence: `${sentence} ${t("That is within the limits, but not by the guard band.")}`,
    };
  }
  return { result: "met", sentence };
}

/** The readings in the base unit. @returns {Exact[]} */
function readingsOf(criterion, value) {
  const { readings } = fields(value, ["readings"]);
  if (!Array.isArray(readings)) {
    throw new InputError(t("Write a list of readings here: […]."), "readings");
  }
  if (readings.length > criterion.readings) {
    throw new InputError(
      `${t("The standard asks for {needed}; there are {count}.", { needed: criterion.readings, count: readings.length })} ` +
        t("Keep those taken first."), "readings");
  }
  return readings.map((reading, i) => {
    try {
      return readingBase(reading, criterion.unit);
    } catch (error) {
      throw error instanceof InputError ? error.under(`readings[${i}]`) : error;
    }
  });
}

function readingBase(reading, asked) {
  const known = ["typed", "value", "unit"];
  if (!isObject(reading) || Object.keys(reading).some((name) => !known.includes(name))) {
    throw new InputError(t("Write {typed, value, unit} here."));
  }
  const { typed = "", value, unit } = reading;
  if ([typed, value, unit].some((each) => typeof each !== "string")) {
    throw new InputError(t('Write value and unit as text, such as "3/2" and "in".'), "value");
  }
  return baseOf(value, unit, asked);
}

/** The value, or for `each` the smallest and largest, that the limits are for.
 * @param {Plain} criterion @param {Exact[]} bases @returns {Exact[]} */
function statistics({ statistic }, bases) {
  const [low, high] = [bases.reduce(lesser), bases.reduce(greater)];
  switch (statistic) {
    case "mean": return [divide(bases.reduce(add), fraction(BigInt(bases.length)))];
    case "largest": return [high];
    case "smallest": return [low];
    case "spread": return [subtract(high, low)];
    default: return below(low, high) ? [low, high] : [low];
  }
}

/** Whether a value within the limits is nearer to one than the guard band: by squares, since the
 * band itself is irrational as a rule. */
function inGuardBand({ lower, upper }, square, value) {
  const near = (margin) => below(multiply(margin, margin), square);
  return square !== null && ((lower !== null && near(subtract(value, lower))) ||
    (upper !== null && near(subtract(upper, value))));
}

/**
 * Where limits, guard band and readings of a measured criterion lie on a line, from 0 to 1, to draw
 * with; null where there is none. The guard band's edges are rounded inwards to a whole base unit.
 * `values` are what the limits are for; `texts` say the limits and the ends of the line.
 * @param {Plain} criterion @param {Sums} sums @param {Plain | null} [value]
 */
export function numberLine(criterion, sums, value = null) {
  const readings = value ? readingsOf(criterion, value) : [];
  const values = readings.length ? statistics(criterion, readings) : [];
  // A spread is drawn by its own value: its readings lie elsewhere.
  const shown = criterion.statistic === "spread" ? [] : readings;
  const { lower, upper } = sumLimits(sums);
  const square = guardSquare(sums);
  const band = square && fraction(rootUp(square));
  const marks = [lower, upper, ...shown, ...values].filter((mark) => mark !== null);
  const [start, end] = ends(marks, unitNamed(criterion.unit).factor);
  const place = (/** @type {Exact} */ base) =>
    share(divide(subtract(base, start), subtract(end, start)));
  const show = shower(criterion);
  return {
    lower: lower && place(lower),
    upper: upper && place(upper),
    guardLower: lower && band && place(add(lower, band)),
    guardUpper: upper && band && place(subtract(upper, band)),
    readings: shown.map(place),
    values: values.map(place),
    texts: {
      start: show(start), end: show(end), lower: lower && show(lower), upper: upper && show(upper),
    },
  };
}

/** What a measured criterion allows, in words. @param {Plain} criterion @param {Sums} sums */
export const allowedText = (criterion, sums) => limitsText(sumLimits(sums), shower(criterion));

/** Where the line starts and ends: an eighth beyond the outermost marks on each side. */
function ends(marks, unit) {
  let [low, high] = [marks.reduce(lesser), marks.reduce(greater)];
  if (!below(low, high)) { // a lone limit: leave as much room on either side as it is large
    const room = low.n ? low : unit;
    [low, high] = [subtract(low, room), add(high, room)];
  }
  const margin = multiply(subtract(high, low), fraction(1n, 8n));
  return [greater(subtract(low, margin), ZERO), add(high, margin)];
}

/** A share as a number to draw with, to a millionth. @param {Exact} x */
const share = ({ n, d }) => Number((n * 1000000n) / d) / 1e6;

function shower({ statistic, unit }) {
  const show = statistic === "spread" ? showDifference : showQuantity;
  return (/** @type {Exact} */ base) => show(base, unit);
}

/** @param {Sums} sums @returns {Limits} */
const sumLimits = (sums) => limitsOf({ lower: sums.lower_nm, upper: sums.upper_nm }, ratio);

/** @param {Sums} sums @returns {Exact | null} */
function guardSquare({ guard_square: square }) {
  return square && fraction(BigInt(square[0]), BigInt(square[1]));
}

/** A number worked out by the server, of any length: `12` or `1/3`. @param {string} text */
function ratio(text) {
  const [above, under = "1"] = text.split("/");
  return fraction(BigInt(above), BigInt(under));
}

/** @returns {Limits} */
function limitsOf({ lower, upper }, read) {
  return { lower: lower === null ? null : read(lower), upper: upper === null ? null : read(upper) };
}

/** How far the highest value lies over the limits and the lowest under them; null within. */
function outside({ lower, upper }, low, high) {
  return [
    upper && below(upper, high) ? subtract(high, upper) : null,
    lower && below(low, lower) ? subtract(lower, low) : null,
  ];
}

/** @param {Limits} limits @param {(base: Exact) => string} show */
function limitsText({ lower, upper }, show) {
  return limitsInWords(lower && show(lower), upper && show(upper));
}

/** @param {string | null} low @param {string | null} high as they are shown; null for none */
export function limitsInWords(low, high) {
  if (low === null) return t("{amount} or less", { amount: high });
  if (high === null) return t("{amount} or more", { amount: low });
  return low === high ? t("{amount} exactly", { amount: low }) : t("{low} to {high}", { low, high });
}

/** Microseconds since 1970 of `2026-05-04T09:30:00-04:00`. The short forms of ISO 8601 without
 * separators, which the engine reads as well, are not written by this product.
 * @param {unknown} text @param {string} name @returns {bigint} */
function instant(text, name) {
  const parts = typeof text === "string" ? INSTANT.exec(text) : null;
  const local = parts && `${parts[1]}T${parts[2]}:${parts[3]}:${parts[4] ?? "00"}`;
  const ms = Date.parse(`${local}Z`);
  const [part = "", sign, hours = "00", minutes = "00"] = parts?.slice(5) ?? [];
  // A date such as 30 February is read by some browsers as 1 or 2 March.
  const sound = !Number.isNaN(ms) && new Date(ms).toISOString().startsWith(local) &&
    !local.startsWith("0000") && hours < "24" && minutes < "60";
  if (!sound) {
    throw new InputError(t("Write date, time and offset, such as 2026-05-04T09:30:00-04:00."), name);
  }
  const ahead = BigInt((Number(hours) * 60 + Number(minutes)) * (sign === "-" ? -1 : 1));
  return BigInt(ms) * 1000n + BigInt(part.slice(0, 6).padEnd(6, "0")) - ahead * 60000000n;
}

/** An object with all the required fields and none that the engine does not know. */
function fields(value, required, optional = []) {
  const missing = required.find((name) => !(name in value));
  if (missing) throw new InputError(t("The field “{token}” is missing: write it.", { token: missing }), missing);
  const known = [...required, ...optional];
  const other = Object.keys(value).find((name) => !known.includes(name));
  if (other !== undefined) {
    throw new InputError(t("There is no such field here; known: {known}.", { known: known.join(", ") }), other);
  }
  return value;
}

function checkTrue(value, name) {
  if (value !== true) throw new InputError(t("Write true, or observe the criterion instead."), name);
}

const isObject = (value) => typeof value === "object" && value !== null && !Array.isArray(value);
const isWhole = (value, most) => Number.isInteger(value) && value >= 0 && value <= most;
