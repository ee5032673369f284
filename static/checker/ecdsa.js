// ECDSA on P-256 with SHA-256 by WebCrypto, which wants r and s side by side (IEEE P1363).

import { joined } from "./bytes.js";
import { INTEGER, SEQUENCE, readValue, values, wanted } from "./der.js";

const SIZE = 32;
const ALGORITHM = { name: "ECDSA", namedCurve: "P-256" };

// Whether `signature` (RFC 3279, Ecdsa-Sig-Value) over `bytes` was made with the key of `spki`.
export async function isSignedBy(spki, signature, bytes) {
  const sides = sidesOf(signature);
  if (!sides) return false;
  const key = await crypto.subtle.importKey("spki", spki, ALGORITHM, false, ["verify"]);
  return crypto.subtle.verify({ name: "ECDSA", hash: "SHA-256" }, key, sides, bytes);
}

function sidesOf(signature) {
  try {
    const whole = wanted(readValue(signature), SEQUENCE);
    const numbers = values(whole).map((value) => side(wanted(value, INTEGER).contents));
    if (whole.end !== signature.length || numbers.length !== 2) return null;
    return joined(...numbers);
  } catch {
    return null;
  }
}

function side(contents) {
  const first = contents[0];
  const padded = contents.length > 1 && first === 0;
  // A leading zero stands exactly where the number would be negative without it.
  if (first > 0x7f || !contents.length || (padded && contents[1] < 0x80)) throw new Error("no DER");
  const digits = padded ? contents.subarray(1) : contents;
  if (digits.length > SIZE) throw new Error("too long");
  return joined(new Uint8Array(SIZE - digits.length), digits);
}
