// Lengths and other quantities as people type them, held exactly: as
// assessments/engine/quantities.py and units.py. tests/vectors holds both to the same results.

import {
  InputError, add, decimal, decimalPlaces, decimalText, divide, exact, fraction, fractionText,
  multiply, numberText, subtract,
} from "./exact.js";
import { t } from "./words.js";

/** @typedef {import("./exact.js").Exact} Exact */
/** @typedef {{name: string, quantity: string, factor: Exact, offset: Exact}} Unit */
/** @typedef {{typed: string, value: string, unit: string, base: Exact}} Quantity `value` is the
 * exact text of a reading, `base` is in the base unit (nm, µg, µs, K, °) */

export { InputError as LengthError };

const ZERO = fraction(0n);
const LONGEST_NM = 1000n * 10n ** 9n;
const EXAMPLE = "Write a number and its unit, such as 1 1/2 in or 38.1 mm.";
// What counts as space for the engine; JavaScript's own \s differs a little.
const SPACES = /[\t-\r\x1c- \x85\xa0\u1680\u2000-\u200a\u2028\u2029\u202f\u205f\u3000]+/;

const VULGAR = {
  "¼": "1/4", "½": "1/2", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
  "⅓": "1/3", "⅔": "2/3", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5", "⅙": "1/6",
  "⅚": "5/6", "⅐": "1/7", "⅑": "1/9", "⅒": "1/10",
};
const WRITTEN = {
  in: ['"', "''", "in.", "inch", "inches"],
  ft: ["'", "ft.", "foot", "feet"],
  mm: ["millimetre", "millimetres", "millimeter", "millimeters"],
  cm: ["centimetre", "centimetres", "centimeter", "centimeters"],
  m: ["metre", "metres", "meter", "meters"],
  um: ["µm", "μm"],
  degC: ["°c"],
  degF: ["°f"],
  deg: ["°", "degree", "degrees"],
  lb: ["lbs"],
  "%": ["percent"],
};
const SHOWN = new Map([["degC", "°C"], ["degF", "°F"], ["deg", "°"], ["1", ""]]);

/** @type {Map<string, Unit>} */
const UNITS = unitTable();
/** @type {Map<string, Unit>} */
const BY_TEXT = new Map();
for (const unit of UNITS.values()) {
  for (const text of [unit.name, ...(WRITTEN[unit.name] ?? [])]) {
    BY_TEXT.set(text.toLowerCase(), unit);
  }
}

function unitTable() {
  const lengths = {
    nm: 1n, um: 1000n, mm: 1000000n, cm: 10000000n, m: 1000000000n,
    in: 25400000n, ft: 304800000n, yd: 914400000n,
  };
  const table = new Map();
  const put = (name, quantity, factor, d = 1n, offset = ZERO) =>
    table.set(name, { name, quantity, factor: fraction(factor, d), offset });
  for (const [name, nm] of Object.entries(lengths)) put(name, "length", nm);
  for (const [name, nm] of Object.entries(lengths)) {
    put(`${name}2`, "area", nm ** 2n);
    put(`${name}3`, "volume", nm ** 3n);
  }
  put("mL", "volume", lengths.cm ** 3n);
  put("L", "volume", (10n * lengths.cm) ** 3n);
  put("mg", "mass", 1000n);
  put("g", "mass", 1000000n);
  put("kg", "mass", 1000000000n);
  put("oz", "mass", 453592370n, 16n);
  put("lb", "mass", 453592370n);
  put("s", "time", 1000000n);
  put("min", "time", 60000000n);
  put("h", "time", 3600000000n);
  put("d", "time", 86400000000n);
  put("degC", "temperature", 1n, 1n, fraction(27315n, 100n));
  put("degF", "temperature", 5n, 9n, fraction(45967n * 5n, 900n));
  put("deg", "angle", 1n);
  put("1", "ratio", 1n);
  put("%", "ratio", 1n, 100n);
  return table;
}

/** The unit of that name. @param {string} name @returns {Unit} */
export function unitNamed(name) {
  const unit = UNITS.get(name);
  if (!unit) throw withExample("“{token}” is not a unit known here.", { token: name });
  return unit;
}

const quantityName = (unit) => t(unit.quantity === "ratio" ? "a plain number" : unit.quantity);
const withExample = (text, values) => new InputError(`${t(text, values)} ${t(EXAMPLE)}`);
/** @type {(value: Exact, unit: Unit) => Exact} */
const toBase = (value, unit) => add(multiply(value, unit.factor), unit.offset);
/** @type {(base: Exact, unit: Unit) => Exact} */
export const fromBase = (base, unit) => divide(subtract(base, unit.offset), unit.factor);

/**
 * The length in a text: `1 1/2`, `1-1/2"`, `1½`, `38.1 mm`, `5' 2 1/2"`.
 * @param {string} text
 * @param {string} unit a unit of length, which holds where none is typed
 * @returns {Quantity & {nm: bigint}} `nm`: whole nanometres
 * @throws {InputError} for everything else, with a sentence that says what to write
 */
export function parseLength(text, unit) {
  if (unitNamed(unit).quantity !== "length") {
    throw withExample("“{token}” is not a unit of length.", { token: unit });
  }
  const found = parseQuantity(text, unit);
  return { ...found, nm: found.base.n };
}

/**
 * The quantity in a text; only a temperature may be negative.
 * @param {string} text
 * @param {string} unit holds where none is typed, and says what is asked for
 * @returns {Quantity}
 * @throws {InputError} also for a typed unit of another kind
 */
export function parseQuantity(text, unit) {
  const asked = unitNamed(unit);
  if (typeof text !== "string" || !text.split(SPACES).join("")) throw new InputError(t(EXAMPLE));
  if ([...text].length > 40) throw withExample("Write at most {count} characters.", { count: 40 });
  const plain = plainText(text);
  const negative = plain.startsWith("-");
  if (negative && asked.quantity !== "temperature") {
    throw new InputError(
      t("“{text}” is negative: write 0 or more, and record a fault as its own size.", { text }));
  }
  refuseSigns(text, plain);
  const [size, found] = read(text, plain.replace(/^-+ ?/, ""), asked);
  const value = negative ? subtract(ZERO, size) : size;
  const base = toBase(value, found);
  if (found.quantity === "length") checkNanometres(base);
  const exactText = plain.includes("/") ? fractionText(value) : numberText(value);
  return { typed: text, value: exactText, unit: found.name, base };
}

/**
 * A noted reading in the base unit. Errors are at `value` or `unit`.
 * @param {string} value exact text
 * @param {string} unit
 * @param {string} asked the unit of its criterion
 * @returns {Exact}
 */
export function baseOf(value, unit, asked) {
  const found = UNITS.get(unit);
  const wanted = unitNamed(asked);
  if (found?.quantity !== wanted.quantity) {
    throw new InputError(
      t("“{token}” does not fit: this is a {quantity} in {unit}.",
        { token: unit, quantity: quantityName(wanted), unit: asked }), "unit");
  }
  try {
    const base = toBase(exact(value), found);
    if (found.quantity === "length") checkNanometres(base);
    if (base.n < 0n) throw new InputError(t("Write 0 or more."));
    return base;
  } catch (error) {
    throw error instanceof InputError ? error.under("value") : error;
  }
}

/** A length for people: `1 1/2 in`, `38.1 mm`. @param {bigint} nm @param {string} unit */
export const showLength = (nm, unit) => showQuantity(fraction(nm), unit);

/** A value in the base unit, for people, in `unit`. @param {Exact} base @param {string} unit */
export const showQuantity = (base, unit) => format(fromBase(base, unitNamed(unit)), unit);

/** A difference in the base unit: without the offset of °C and °F. @param {Exact} base
 * @param {string} unit */
export const showDifference = (base, unit) => format(divide(base, unitNamed(unit).factor), unit);

/** Inches and feet as a mixed fraction to 1/64, else a decimal; rounded is `about`.
 * @param {Exact} value @param {string} unit */
function format(value, unit) {
  let number;
  if ((unit === "in" || unit === "ft") && 64n % value.d === 0n) {
    number = mixed(value);
  } else {
    const places = decimalPlaces(value, 6);
    number = places === null
      ? t("about {number}", { number: decimalText(value, unit === "mm" ? 3 : 4) })
      : decimalText(value, places);
  }
  return `${number} ${SHOWN.get(unit) ?? unit}`.trimEnd();
}

/** @param {Exact} value */
function mixed({ n, d }) {
  const [sign, size] = n < 0n ? ["-", -n] : ["", n];
  const [whole, rest] = [size / d, size % d];
  if (!rest) return `${sign}${whole}`;
  return whole ? `${sign}${whole} ${rest}/${d}` : `${sign}${rest}/${d}`;
}

/** @param {Exact} base */
function checkNanometres({ n, d }) {
  if (d !== 1n) {
    throw new InputError(t("Write a length to the nearest 1/64 in, or as a decimal: this one is no whole number of nanometres."));
  }
  if (n < 0n) throw new InputError(t("A length cannot be negative: write 0 or more."));
  if (n > LONGEST_NM) {
    throw new InputError(t("This length is over 1 000 m: check the number and its unit."));
  }
}

/** The text in lower case with plain fractions, signs, spaces and marks. @param {string} text */
function plainText(text) {
  return text
    .replace(/[¼-¾⅐-⅞]/g, (sign) => (VULGAR[sign] ? ` ${VULGAR[sign]}` : sign))
    .replace(/[−–‒‐‑]/g, "-")
    .replace(/[⁄∕]/g, "/")
    .replace(/[″”“„＂]/g, '"')
    .replace(/[′’‘]/g, "'")
    .toLowerCase().split(SPACES).filter(Boolean).join(" ");
}

/** @param {string} text @param {string} plain */
function refuseSigns(text, plain) {
  if (plain.includes(",")) {
    throw new InputError(t("Write “{text}” with a point instead of a comma, such as {instead}, and without thousands separators.",
      { text, instead: plain.replaceAll(",", ".") }));
  }
  if (/[0-9] *e *[-+]?[0-9]/.test(plain) || /^[-+]?(nan|inf)/.test(plain)) {
    throw withExample("Write “{text}” in plain digits.", { text });
  }
}

/** @param {string} text @param {string} plain @param {Unit} asked @returns {[Exact, Unit]} */
function read(text, plain, asked) {
  const both = /^(.*[0-9]) *('(?!')|ft\.?|foot|feet) *-? *([0-9.].*)$/.exec(plain);
  if (!both || asked.quantity !== "length") return split(text, plain, asked);
  const [rest, unit] = split(text, both[3], unitNamed("in"));
  if (unit.name !== "in") {
    throw new InputError(t("“{text}” mixes feet with {unit}: write one unit.", { text, unit: unit.name }));
  }
  return [add(multiply(number(text, both[1]), fraction(12n)), rest), unit];
}

/** @param {string} text @param {string} plain @param {Unit} asked @returns {[Exact, Unit]} */
function split(text, plain, asked) {
  const parts = /^([0-9./ -]*[0-9./]) *([^0-9 ./-].*)?$/.exec(plain);
  if (!parts) throw withExample("“{text}” cannot be read.", { text });
  const [, digits, name] = parts;
  if (name === undefined) return [number(text, digits.trim()), asked];
  const found = BY_TEXT.get(name);
  if (!found) throw withExample("“{token}” is not a unit known here.", { token: name });
  if (found.quantity !== asked.quantity) {
    throw new InputError(
      t("“{token}” does not fit: write a {quantity} in {unit}.",
        { token: name, quantity: quantityName(asked), unit: asked.name }));
  }
  return [number(text, digits.trim()), found];
}

/** @param {string} text @param {string} digits @returns {Exact} */
function number(text, digits) {
  if (/^([0-9]+(\.[0-9]+)?|\.[0-9]+)$/.test(digits)) return decimal(digits);
  const parts = /^(?:([0-9]+)[ -])?([0-9]+) ?\/ ?([0-9]+)$/.exec(digits);
  if (!parts) throw withExample("“{text}” cannot be read.", { text });
  const [above, under] = [BigInt(parts[2]), BigInt(parts[3])];
  if (!under) throw new InputError(t("“{text}” has 0 under the line of its fraction.", { text }));
  if (parts[1] && above >= under) {
    throw new InputError(
      t("In “{text}” the fraction is 1 or more: write the whole number it makes.", { text }));
  }
  return add(fraction(BigInt(parts[1] ?? 0)), fraction(above, under));
}
