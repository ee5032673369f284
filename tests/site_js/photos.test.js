// Reads dates out of Exif blocks made by hand after TIFF 6.0 section 2 and CIPA DC-008 (from
// memory; the Python test of photographs checks the same with files that Pillow writes).

import assert from "node:assert/strict";
import { test } from "node:test";

import { captureTime, withoutMetadata } from "../../static/site/exif.js";

const ASCII = 2;
const LONG = 4;
const GPS_POINTER = 0x8825;
const POINTER = 0x8769;
const DATE = 0x9003;
const OFFSET = 0x9011;
const TAKEN = "2026:11:03 10:15:00\0";

/** A TIFF block: IFD0 at 8 with `first`, Exif's directory at 100 with `exif`, text from 200. */
function tiff({ little = false, first, exif, size = 300, magic = 42, start = 8 } = {}) {
  const block = new DataView(new ArrayBuffer(size));
  block.setUint16(0, little ? 0x4949 : 0x4d4d);
  block.setUint16(2, magic, little);
  block.setUint32(4, start, little);
  let free = 200;
  const directory = (at, entries) => {
    block.setUint16(at, entries.length, little);
    entries.forEach(({ tag, type, count, value }, index) => {
      const entry = at + 2 + 12 * index;
      block.setUint16(entry, tag, little);
      block.setUint16(entry + 2, type, little);
      block.setUint32(entry + 4, count, little);
      if (typeof value === "number") {
        block.setUint32(entry + 8, value, little);
        return;
      }
      block.setUint32(entry + 8, free, little);
      for (const letter of value) block.setUint8(free++, letter.charCodeAt(0));
    });
  };
  directory(8, first ?? [{ tag: POINTER, type: LONG, count: 1, value: 100 }]);
  directory(100, exif ?? [dated()]);
  return new Uint8Array(block.buffer);
}

const dated = (value = TAKEN) => ({ tag: DATE, type: ASCII, count: value.length, value });
const zoned = (value) => ({ tag: OFFSET, type: ASCII, count: value.length, value });

function segment(marker, body) {
  const length = body.length + 2;
  return [0xff, marker, length >> 8, length & 0xff, ...body];
}

const bytesOf = (said) => [...said].map((letter) => letter.charCodeAt(0));
const SCAN = [...segment(0xda, [1, 1, 0, 0, 63, 0]), 1, 2, 3, 0xff, 0, 4, 0xff, 0xd9];

function jpeg(...segments) {
  return new Uint8Array([0xff, 0xd8, ...segments.flat(), ...SCAN]);
}

const withExif = (block) => jpeg(segment(0xe1, [...bytesOf("Exif\0\0"), ...block]));

for (const little of [false, true]) {
  test(`reads the date and its offset, ${little ? "little" : "big"} endian`, () => {
    const block = tiff({ little, exif: [dated(), zoned("-05:00\0")] });
    assert.deepEqual(captureTime(withExif(block)), {
      local: "2026-11-03T10:15:00",
      offset: "-05:00",
    });
  });
}

test("an offset that is left out or blank is not known", () => {
  const expected = { local: "2026-11-03T10:15:00", offset: null };
  assert.deepEqual(captureTime(withExif(tiff())), expected);
  assert.deepEqual(captureTime(withExif(tiff({ exif: [dated(), zoned("   :  \0")] }))), expected);
});

test("finds Exif after JFIF and fill bytes, and in an array that is part of a larger one", () => {
  const exif = [0xff, ...segment(0xe1, [...bytesOf("Exif\0\0"), ...tiff()])];
  const file = jpeg(segment(0xe0, bytesOf("JFIF\0....")), exif);
  assert.equal(captureTime(file).local, "2026-11-03T10:15:00");
  const larger = new Uint8Array(file.length + 7);
  larger.set(file, 7);
  assert.equal(captureTime(larger.subarray(7)).local, "2026-11-03T10:15:00");
  assert.equal(captureTime(file.buffer).local, "2026-11-03T10:15:00");
});

const NO_DATE = {
  "no file": new Uint8Array(),
  "a text": new Uint8Array(bytesOf("not a picture at all")),
  "a JPEG without Exif": jpeg(segment(0xe0, bytesOf("JFIF\0...."))),
  "an application segment that is not Exif": jpeg(
    segment(0xe1, [...bytesOf("http\0\0"), ...tiff()]),
  ),
  "Exif without a block": jpeg(segment(0xe1, bytesOf("Exif\0\0"))),
  "another byte order": withExif(tiff().fill(0x58, 0, 2)),
  "another magic number": withExif(tiff({ magic: 43 })),
  "no pointer to the Exif directory": withExif(
    tiff({ first: [{ tag: GPS_POINTER, type: LONG, count: 1, value: 100 }] }),
  ),
  "a directory inside the header": withExif(tiff({ start: 2 })),
  "a directory outside of the block": withExif(tiff({ start: 0xfffffff0 })),
  "a first directory that points to itself": withExif(
    tiff({ first: [{ tag: POINTER, type: LONG, count: 1, value: 8 }] }),
  ),
  "a pointer of another type": withExif(
    tiff({ first: [{ tag: POINTER, type: ASCII, count: 1, value: 100 }] }),
  ),
  "two pointers": withExif(
    tiff({
      first: [
        { tag: POINTER, type: LONG, count: 1, value: 100 },
        { tag: POINTER, type: LONG, count: 1, value: 100 },
      ],
    }),
  ),
  "a text that lies outside of the block": withExif(
    tiff({ exif: [{ tag: DATE, type: ASCII, count: 20, value: 0x7fffffff }] }),
  ),
  "a text of four thousand million letters": withExif(
    tiff({ exif: [{ tag: DATE, type: ASCII, count: 0xffffffff, value: TAKEN }] }),
  ),
  "a date that is a number": withExif(
    tiff({ exif: [{ tag: DATE, type: LONG, count: 20, value: TAKEN }] }),
  ),
  "a date without its closing zero": withExif(tiff({ exif: [dated("2026:11:03 10:15:000")] })),
  "dashes in the date": withExif(tiff({ exif: [dated("2026-11-03 10:15:00\0")] })),
  "31 June": withExif(tiff({ exif: [dated("2026:06:31 10:15:00\0")] })),
  "a camera whose clock was never set": withExif(tiff({ exif: [dated("0000:00:00 00:00:00\0")] })),
  "the first year of a camera's calendar": withExif(
    tiff({ exif: [dated("1980:01:01 00:00:00\0")] }),
  ),
  "an hour too many": withExif(tiff({ exif: [dated("2026:11:03 25:15:00\0")] })),
  "an offset that no zone has": withExif(tiff({ exif: [dated(), zoned("+23:00\0")] })),
  "an offset in words": withExif(tiff({ exif: [dated(), zoned("-05h00\0")] })),
};

for (const [name, file] of Object.entries(NO_DATE)) {
  test(`says no date for ${name}`, () => assert.equal(captureTime(file), null));
}

test("says no date where a directory claims more entries than the block holds", () => {
  const block = tiff();
  new DataView(block.buffer).setUint16(100, 400);
  assert.equal(captureTime(withExif(block)), null);
});

test("a file cut off anywhere throws nothing and never gives a date that is not there", () => {
  const whole = withExif(tiff({ exif: [dated(), zoned("-05:00\0")] }));
  const headed = whole.length - SCAN.length;
  for (let length = 0; length < whole.length; length += 1) {
    const said = captureTime(whole.subarray(0, length));
    if (length < headed) assert.equal(said, null, `${length} bytes`);
    else assert.equal(said.local, "2026-11-03T10:15:00");
  }
});

test("one byte changed anywhere gives a date in the right form or none", () => {
  const whole = withExif(tiff({ exif: [dated(), zoned("-05:00\0")] }));
  for (let at = 0; at < whole.length; at += 1) {
    for (const value of [0x00, 0x01, 0x39, 0x80, 0xff]) {
      const file = whole.slice();
      file[at] = value;
      const said = captureTime(file);
      if (said === null) continue;
      assert.match(said.local, /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d$/);
      assert.match(said.offset ?? "+00:00", /^[+-]\d\d:\d\d$/);
    }
  }
});

test("a segment that says it is shorter than its own length ends the reading", () => {
  for (const length of [0, 1]) {
    const file = jpeg([0xff, 0xe0, 0, length], segment(0xe1, [...bytesOf("Exif\0\0"), ...tiff()]));
    assert.equal(captureTime(file), null);
    assert.throws(() => withoutMetadata(file), RangeError);
  }
});

test("takes out Exif, XMP and comments and leaves the rest byte for byte", () => {
  const jfif = segment(0xe0, bytesOf("JFIF\0...."));
  const profile = segment(0xe2, bytesOf("ICC_PROFILE\0..."));
  const table = segment(0xdb, [0, 1, 2, 3]);
  const file = jpeg(
    jfif,
    segment(0xe1, [...bytesOf("Exif\0\0"), ...tiff()]),
    profile,
    segment(0xe1, bytesOf("http://ns.adobe.com/xap/1.0/\0<x/>")),
    segment(0xe2, bytesOf("MPF\0 and more pictures")),
    segment(0xed, bytesOf("a place name")),
    segment(0xfe, bytesOf("a comment")),
    table,
  );
  assert.deepEqual(new Uint8Array(withoutMetadata(file)), jpeg(jfif, profile, table));
});

test("what is not a whole JPEG has no clean copy", () => {
  for (const file of [new Uint8Array(), new Uint8Array([0xff, 0xd8, 0xff, 0xd9])]) {
    assert.throws(() => withoutMetadata(file), RangeError);
  }
  assert.throws(() => withoutMetadata(jpeg().subarray(0, 5)), RangeError);
});
