// What a photograph says of itself: when it was taken; and a copy of a JPEG that says nothing.
//
// Layout of the file: ITU-T T.81 annex B (JPEG markers), TIFF 6.0 section 2 (directories),
// CIPA DC-008 (Exif: DateTimeOriginal, OffsetTimeOriginal). Read strictly: whatever is odd
// counts as no date, since a wrong date is worse than none.

const START = 0xffd8;
const APP0 = 0xe0;
const APP1 = 0xe1;
const APP2 = 0xe2; // a colour profile, or more pictures
const APP14 = 0xee; // how the colours are coded: without it some files decode wrongly
const APP15 = 0xef;
const COMMENT = 0xfe;
const SCAN = 0xda;
const END = 0xd9;

const EXIF_POINTER = 0x8769;
const DATE_TIME_ORIGINAL = 0x9003;
const OFFSET_TIME_ORIGINAL = 0x9011;
const ASCII = 2;
const LONG = 4;
const MOST_ENTRIES = 500;

class Odd extends Error {}

/**
 * When the picture was taken, as its camera noted it.
 * @param {ArrayBuffer|Uint8Array} bytes a JPEG file
 * @returns {{local: string, offset: string|null}|null} local as 2026-11-03T10:15:00, offset as
 *   -05:00; null where the file does not say, or says it in a way that is not the standard's
 */
export function captureTime(bytes) {
  try {
    const tiff = exifBlock(viewOf(bytes));
    return tiff && readDirectories(tiff);
  } catch (error) {
    // DataView throws RangeError for whatever lies outside of the file.
    if (error instanceof Odd || error instanceof RangeError) return null;
    throw error;
  }
}

/**
 * The JPEG without Exif, XMP, comments and whatever else makers add; the picture is untouched.
 * @param {ArrayBuffer|Uint8Array} bytes
 * @returns {ArrayBuffer}
 * @throws {RangeError} where it is not a whole JPEG
 */
export function withoutMetadata(bytes) {
  const view = viewOf(bytes);
  const all = new Uint8Array(view.buffer, view.byteOffset, view.byteLength);
  const kept = [all.subarray(0, 2)];
  let scan = null;
  for (const { marker, from, start, to } of segments(view)) {
    if (marker === SCAN) {
      scan = from;
      break;
    }
    const application = marker >= APP0 && marker <= APP15;
    const profile = marker === APP2 && says(view, start, to, "ICC_PROFILE\0");
    const needed = marker === APP0 || marker === APP14 || profile;
    if ((application && !needed) || marker === COMMENT) continue;
    kept.push(all.subarray(from, to));
  }
  if (scan === null) throw new RangeError("The file holds no picture.");
  kept.push(all.subarray(scan));
  const clean = new Uint8Array(kept.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of kept) {
    clean.set(part, at);
    at += part.length;
  }
  return clean.buffer;
}

function viewOf(bytes) {
  return bytes instanceof ArrayBuffer
    ? new DataView(bytes)
    : new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
}

/** The segments before the picture's data, the scan's header last; each longer than the last. */
function* segments(view) {
  if (view.getUint16(0) !== START) throw new RangeError("Not a JPEG.");
  let from = 2;
  for (;;) {
    if (view.getUint8(from) !== 0xff) throw new RangeError("A marker is missing.");
    let at = from + 1;
    while (view.getUint8(at) === 0xff) at += 1; // fill bytes
    const marker = view.getUint8(at);
    if (marker === END) return;
    const length = view.getUint16(at + 1);
    const to = at + 1 + length;
    if (to > view.byteLength) throw new RangeError("A segment is cut off.");
    yield { marker, from, start: at + 3, to };
    if (marker === SCAN) return;
    // A length below two, its own, leads to one of its own bytes, which is no marker.
    from = to;
  }
}

/** The TIFF part of the first Exif segment; offsets inside it cannot leave it. */
function exifBlock(view) {
  for (const { marker, start, to } of segments(view)) {
    if (marker === SCAN) return null;
    if (marker === APP1 && says(view, start, to, "Exif\0\0")) {
      return new DataView(view.buffer, view.byteOffset + start + 6, to - start - 6);
    }
  }
  return null;
}

/** Whether a segment from `start` to `to` begins with its maker's `name`. */
function says(view, start, to, name) {
  return to - start >= name.length && text(view, start, name.length) === name;
}

function readDirectories(tiff) {
  const order = text(tiff, 0, 2);
  if (order !== "II" && order !== "MM") throw new Odd();
  const little = order === "II";
  if (tiff.getUint16(2, little) !== 42) throw new Odd();
  // Only one step is ever taken, from the first directory to Exif's: no chain, so no loop.
  const pointer = entries(tiff, tiff.getUint32(4, little), little).get(EXIF_POINTER);
  if (!pointer) return null;
  if (pointer.type !== LONG || pointer.count !== 1) throw new Odd();
  const exif = entries(tiff, tiff.getUint32(pointer.at, little), little);
  const date = exif.get(DATE_TIME_ORIGINAL);
  if (!date) return null;
  const offset = exif.get(OFFSET_TIME_ORIGINAL);
  return {
    local: asDate(ascii(tiff, date, 20, little)),
    offset: offset ? asOffset(ascii(tiff, offset, 7, little)) : null,
  };
}

/** The entries of a directory by tag; `at` is where the value or its offset stands. */
function entries(tiff, at, little) {
  const count = tiff.getUint16(at, little);
  if (count === 0 || count > MOST_ENTRIES) throw new Odd();
  const found = new Map();
  for (let index = 0; index < count; index += 1) {
    const entry = at + 2 + 12 * index;
    const tag = tiff.getUint16(entry, little);
    if (found.has(tag)) throw new Odd();
    found.set(tag, {
      type: tiff.getUint16(entry + 2, little),
      count: tiff.getUint32(entry + 4, little),
      at: entry + 8,
    });
  }
  return found;
}

/** Text of exactly `length` bytes, its closing zero among them; both tags are longer than four. */
function ascii(tiff, entry, length, little) {
  if (entry.type !== ASCII || entry.count !== length) throw new Odd();
  const whole = text(tiff, tiff.getUint32(entry.at, little), length);
  if (!whole.endsWith("\0")) throw new Odd();
  return whole.slice(0, -1);
}

function text(view, at, length) {
  let out = "";
  for (let index = 0; index < length; index += 1) {
    out += String.fromCharCode(view.getUint8(at + index));
  }
  return out;
}

function asDate(said) {
  const form = /^(\d{4}):(\d\d):(\d\d) (\d\d):(\d\d):(\d\d)$/.exec(said);
  if (!form) throw new Odd();
  const [, year, month, day, hour, minute, second] = form;
  const local = `${year}-${month}-${day}T${hour}:${minute}:${second}`;
  const moment = new Date(`${local}Z`);
  // 31 June would silently become 1 July.
  if (Number(year) < 1990 || Number.isNaN(moment.getTime())) throw new Odd();
  if (moment.toISOString().slice(0, 19) !== local) throw new Odd();
  return local;
}

function asOffset(said) {
  if (said === "   :  ") return null; // the standard's way to say that it is not known
  const form = /^[+-](\d\d):(\d\d)$/.exec(said);
  if (!form || Number(form[1]) > 14 || Number(form[2]) > 59) throw new Odd();
  return said;
}
