// The signature's container (CMS, RFC 5652), which must be exactly as issuers make it.

import { fromHex, joined, same, sha256, toHex } from "./bytes.js";
import { ECDSA_SHA256, certificateOf } from "./certificates.js";
import { NUMBERED_0, OCTETS, SEQUENCE, SET, readValue, values, wanted, written } from "./der.js";
import { isSignedBy } from "./ecdsa.js";

// What stands in every container, in DER: signed data, version 1, SHA-256, detached content.
const SIGNED_DATA = fromHex("06092a864886f70d010702");
const VERSION = fromHex("020101");
const DIGEST = fromHex("300d06096086480165030402010500");
const DETACHED = fromHex("300b06092a864886f70d010701");
const UNSIGNED = 0xa1;
const CONTENT_TYPE = "2a864886f70d010903";
const MESSAGE_DIGEST = "2a864886f70d010904";
const SIGNING_CERTIFICATE = "2a864886f70d010910022f";
const TIME_STAMP = "2a864886f70d010910020e";
const DATA = fromHex("06092a864886f70d010701");
const STAMP_CONTENT = fromHex("060b2a864886f70d0109100104");

// The parts of a container; throws where it cannot be read. Room is filled up with zeros.
export function containerOf(bytes) {
  const outer = wanted(readValue(bytes), SEQUENCE);
  const [, holder] = values(outer);
  const parts = values(values(wanted(holder, NUMBERED_0))[0]);
  const certificate = certificateOf(values(wanted(parts[3], NUMBERED_0))[0].whole);
  const signer = values(values(wanted(parts[4], SET))[0]);
  const attributes = wanted(signer[3], NUMBERED_0);
  const signature = wanted(signer[5], OCTETS).contents;
  const unsigned = signer[6] ? wanted(signer[6], UNSIGNED) : null;
  const found = { certificate, attributes, signature, stamp: stampIn(unsigned) };
  return { ...found, isAsMade: isAsMade(bytes, found, unsigned) };
}

// Whether the signed attributes are of this content, and of this certificate and no other.
export async function attributesOf({ attributes, certificate }) {
  const found = new Map();
  for (const attribute of values(attributes)) {
    const [key, set] = values(attribute);
    found.set(toHex(key.contents), wanted(set, SET));
  }
  const digest = values(found.get(MESSAGE_DIGEST) ?? { contents: [] })[0];
  const named = signingCertificateIn(found.get(SIGNING_CERTIFICATE));
  return {
    digest: digest ? wanted(digest, OCTETS).contents : new Uint8Array(),
    isOfData: same(found.get(CONTENT_TYPE)?.contents ?? [], DATA),
    namesCertificate: Boolean(named) && same(named, await sha256(certificate.whole)),
  };
}

// Whether the key of the certificate in the container signed the attributes (RFC 5652, 5.4).
export const isSignatureGood = ({ certificate, attributes, signature }) =>
  isSignedBy(certificate.key, signature, written(SET, attributes.contents));

// Whether the time-stamp (RFC 3161) was made of this signature; who made it is not looked at.
export async function isStampOf({ stamp, signature }) {
  const [, holder] = values(stamp);
  const content = values(values(holder)[0])[2];
  const [kind, info] = values(content);
  if (!same(kind.whole, STAMP_CONTENT)) return false;
  const imprint = values(readValue(values(info)[0].contents))[2];
  const [algorithm, digest] = values(imprint);
  return same(algorithm.whole, DIGEST) && same(digest.contents, await sha256(signature));
}

function isAsMade(bytes, { certificate, attributes, signature }, unsigned) {
  const signer = joined(
    VERSION,
    written(SEQUENCE, certificate.issuer, certificate.serial),
    DIGEST,
    written(NUMBERED_0, attributes.contents),
    ECDSA_SHA256,
    written(OCTETS, signature),
    unsigned ? unsigned.whole : new Uint8Array(),
  );
  const built = joined(
    VERSION,
    written(SET, DIGEST),
    DETACHED,
    written(NUMBERED_0, certificate.whole),
    written(SET, written(SEQUENCE, signer)),
  );
  const data = written(NUMBERED_0, written(SEQUENCE, built));
  const whole = written(SEQUENCE, SIGNED_DATA, data);
  return (
    same(whole, bytes.subarray(0, whole.length)) &&
    bytes.subarray(whole.length).every((byte) => byte === 0)
  );
}

function stampIn(unsigned) {
  if (!unsigned) return null;
  const [attribute, ...more] = values(unsigned);
  const [key, set] = values(attribute);
  const [token, ...others] = values(set);
  if (toHex(key.contents) !== TIME_STAMP || more.length || others.length) {
    throw new Error("something else than a time-stamp");
  }
  return token;
}

// The digest in the attribute that names the certificate (RFC 5035, 3: SHA-256 if not named).
function signingCertificateIn(set) {
  if (!set) return null;
  const [identifier] = values(values(values(set)[0])[0]);
  return wanted(values(identifier)[0], OCTETS).contents;
}
