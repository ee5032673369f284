// The number line of a measured criterion, black on white: limits, guard band, readings.

import { svg } from "../dom.js";
import { allowedText, numberLine } from "../judge.js";
import { t } from "../words.js";

const WIDTH = 336;
const SIDE = 10;
const TOP = 24;
const BAND = 16;
const ROWS = 2; // of dots, always: a line that grew would move the keys below it
const LETTER = 11.5;

/**
 * Draw it.
 * @param {Object} criterion
 * @param {Object} sums
 * @param {Object} value {"readings": [...]}; may be empty.
 * @returns {SVGElement}
 */
export function drawLine(criterion, sums, value) {
  const data = numberLine(criterion, sums, value);
  const x = (place) => SIDE + place * (WIDTH - 2 * SIDE);
  const from = data.lower === null ? 0 : x(data.lower);
  const to = data.upper === null ? WIDTH : x(data.upper);
  const dots = stacked(data.readings.map(x));
  const band = TOP + 2 + ROWS * 12;
  return svg(
    "svg",
    { viewBox: `0 0 ${WIDTH} ${band + BAND + 2}`, role: "img", "aria-label": describe(criterion, sums, value) },
    ...labels(data, x),
    svg("rect", { x: 1, y: band, width: WIDTH - 2, height: BAND, fill: "#fff", stroke: "#000", "stroke-width": 1.5 }),
    svg("rect", { x: from, y: band, width: Math.max(0, to - from), height: BAND, fill: "#fff", stroke: "#000", "stroke-width": 4 }),
    ...guards(data, x, band),
    ...dots.map((dot) =>
      svg("circle", { cx: dot.at, cy: band - 7 - dot.row * 12, r: 5, fill: "#fff", stroke: "#000", "stroke-width": 3 })),
    ...data.readings.map((place) => svg("line", { x1: x(place), x2: x(place), y1: band, y2: band + BAND, stroke: "#000", "stroke-width": 3 })),
  );
}

function stacked(places) {
  const found = [];
  for (const at of places) {
    const near = found.filter((dot) => Math.abs(dot.at - at) < 12).map((dot) => dot.row);
    let row = 0;
    while (near.includes(row)) row += 1;
    found.push({ at, row: Math.min(row, ROWS - 1) });
  }
  return found;
}

function guards(data, x, band) {
  const parts = [];
  const hatch = (start, end) => {
    for (let at = start; at < end; at += 5) {
      parts.push(svg("line", { x1: at, x2: Math.min(at + 4, end), y1: band + BAND, y2: band, stroke: "#000", "stroke-width": 1 }));
    }
  };
  if (data.guardLower !== null && data.lower !== null) hatch(x(data.lower), x(data.guardLower));
  if (data.guardUpper !== null && data.upper !== null) hatch(x(data.guardUpper), x(data.upper));
  return parts;
}

function labels(data, x) {
  const found = ["lower", "upper"]
    .filter((side) => data[side] !== null)
    .map((side) => ({ at: x(data[side]), text: data.texts[side] }));
  const half = (each) => (each.text.length * LETTER) / 2;
  for (const each of found) each.at = Math.min(Math.max(each.at, half(each)), WIDTH - half(each));
  if (found.length === 2) {
    const short = half(found[0]) + half(found[1]) + 10 - (found[1].at - found[0].at);
    if (short > 0) {
      found[0].at = Math.max(half(found[0]), found[0].at - short / 2);
      found[1].at = Math.min(WIDTH - half(found[1]), found[0].at + half(found[0]) + half(found[1]) + 10);
    }
  }
  return found.map((each) =>
    svg("text", { x: each.at, y: 20, "text-anchor": "middle", "font-size": 20, "font-weight": 700 }, each.text));
}

function describe(criterion, sums, value) {
  const readings = value.readings.map((reading) => reading.typed).join(", ");
  const allowed = t("Allowed: {limits}.", { limits: allowedText(criterion, sums) });
  return `${allowed} ${readings ? t("Readings: {readings}.", { readings }) : t("No readings yet.")}`;
}
