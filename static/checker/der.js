// DER (ITU-T X.690): one value at a time, read strictly, and written.

import { joined } from "./bytes.js";

export const INTEGER = 0x02;
export const BITS = 0x03;
export const OCTETS = 0x04;
export const OBJECT = 0x06;
export const SEQUENCE = 0x30;
export const SET = 0x31;
export const NUMBERED_0 = 0xa0;

// One value from `start`: its tag, its contents, all its bytes, and where the next one begins.
export function readValue(bytes, start = 0) {
  const tag = bytes[start];
  let length = bytes[start + 1];
  let first = start + 2;
  if (tag === undefined || length === undefined || (tag & 0x1f) === 0x1f) throw new Error("no DER");
  if (length > 0x7f) {
    const digits = length & 0x7f;
    if (digits < 1 || digits > 4) throw new Error("no DER length");
    length = 0;
    for (const byte of bytes.subarray(first, first + digits)) length = length * 256 + byte;
    first += digits;
    if (length < 0x80 || length < 256 ** (digits - 1)) throw new Error("no shortest DER length");
  }
  const end = first + length;
  if (end > bytes.length) throw new Error("cut-off DER");
  return { tag, contents: bytes.subarray(first, end), whole: bytes.subarray(start, end), end };
}

// All values in the contents of one that holds others.
export function values({ contents }) {
  const found = [];
  for (let place = 0; place < contents.length; ) {
    const value = readValue(contents, place);
    found.push(value);
    place = value.end;
  }
  return found;
}

export function wanted(value, tag) {
  if (value?.tag !== tag) throw new Error(`DER value ${tag} is missing`);
  return value;
}

export function written(tag, ...parts) {
  const contents = joined(...parts);
  const digits = [];
  for (let rest = contents.length; rest; rest = Math.floor(rest / 256)) digits.unshift(rest % 256);
  const head = contents.length < 0x80 ? [contents.length] : [0x80 | digits.length, ...digits];
  return joined(Uint8Array.of(tag, ...head), contents);
}
