// Certificates (RFC 5280): what the profile of issuers has, and whether a root vouches for one.

import { fromBase64, fromHex, same, toHex } from "./bytes.js";
import { BITS, NUMBERED_0, OBJECT, OCTETS, SEQUENCE, readValue, values, wanted } from "./der.js";
import { isSignedBy } from "./ecdsa.js";

export const ECDSA_SHA256 = fromHex("300a06082a8648ce3d040302");
const BASIC_CONSTRAINTS = "551d13";
const KEY_USAGE = "551d0f";
const COMMON_NAME = "550403";
const ORGANISATION = "55040a";
const MARKS = /-----BEGIN CERTIFICATE-----([A-Za-z0-9+/=\s]+)-----END CERTIFICATE-----/g;
const SIGNS = 0x80; // the first bit of key usage: digitalSignature
const SIGNS_CERTIFICATES = 0x04; // the sixth: keyCertSign

export function certificateOf(bytes) {
  const outer = wanted(readValue(bytes), SEQUENCE);
  const [body, algorithm, signature, ...more] = values(outer);
  const parts = values(wanted(body, SEQUENCE));
  if (parts[0].tag === NUMBERED_0) parts.shift();
  const [serial, inner, issuer, life, subject, key] = parts;
  const extensions = parts.slice(6).find(({ tag }) => tag === 0xa3);
  const known = same(algorithm.whole, ECDSA_SHA256) && same(inner.whole, ECDSA_SHA256);
  if (!known || more.length || outer.end !== bytes.length) throw new Error("another certificate");
  const [from, until] = values(wanted(life, SEQUENCE)).map(momentOf);
  return {
    whole: outer.whole,
    signed: body.whole,
    signature: wanted(signature, BITS).contents.subarray(1),
    serial: serial.whole,
    issuer: issuer.whole,
    subject: subject.whole,
    names: { commonName: nameIn(subject, COMMON_NAME), organisation: nameIn(subject, ORGANISATION) },
    key: key.whole,
    from,
    until,
    ...usesOf(extensions),
  };
}

// The certificates in a PEM file; an empty list when there is none.
export const certificatesIn = (pem) =>
  [...pem.matchAll(MARKS)].map(([, text]) => certificateOf(fromBase64(text)));

// The root among `roots` that vouches for a certificate that signs at `moment`, or null.
export async function rootOf(certificate, roots, moment) {
  if (!certificate.signs || certificate.isAuthority || certificate.strange) return null;
  for (const root of roots) {
    const fits =
      same(root.subject, certificate.issuer) &&
      root.isAuthority &&
      root.signsCertificates &&
      !root.strange &&
      root.from <= moment &&
      moment <= root.until;
    if (fits && (await isSignedBy(root.key, certificate.signature, certificate.signed))) return root;
  }
  return null;
}

function usesOf(extensions) {
  const found = { isAuthority: false, signs: false, signsCertificates: false, strange: false };
  if (!extensions) return found;
  for (const extension of values(values(extensions)[0])) {
    const [name, ...rest] = values(extension);
    const value = wanted(rest.at(-1), OCTETS).contents;
    const critical = rest.length > 1 && rest[0].contents[0] === 0xff;
    const key = toHex(wanted(name, OBJECT).contents);
    if (key === BASIC_CONSTRAINTS) {
      found.isAuthority = values(readValue(value))[0]?.contents[0] === 0xff;
    } else if (key === KEY_USAGE) {
      const bits = readValue(value).contents[1] ?? 0;
      found.signs = Boolean(bits & SIGNS);
      found.signsCertificates = Boolean(bits & SIGNS_CERTIFICATES);
    } else if (critical) {
      found.strange = true;
    }
  }
  return found;
}

function nameIn(name, wantedKey) {
  for (const set of values(name)) {
    for (const pair of values(set)) {
      const [key, value] = values(pair);
      if (toHex(key.contents) === wantedKey) return new TextDecoder().decode(value.contents);
    }
  }
  return "";
}

// UTCTime, whose years below 50 are of this century (RFC 5280, 4.1.2.5.1), or GeneralizedTime.
function momentOf({ tag, contents }) {
  const text = new TextDecoder("latin1").decode(contents);
  const full = tag === 0x17 ? `${Number(text.slice(0, 2)) < 50 ? "20" : "19"}${text}` : text;
  const [, year, month, day, hour, minute, second] = full.match(
    /^(\d{4})(\d\d)(\d\d)(\d\d)(\d\d)(\d\d)Z$/,
  );
  return new Date(Date.UTC(year, month - 1, day, hour, minute, second));
}
