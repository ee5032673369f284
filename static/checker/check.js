// The check of one file: what is wrong with it, by the names of the faults that the server uses.

import { fromHex, joined, latin1, same, sha256, toHex } from "./bytes.js";
import { digestOf } from "./canonical.js";
import { rootOf } from "./certificates.js";
import { attributesOf, containerOf, isSignatureGood, isStampOf } from "./container.js";
import { Document } from "./document.js";
import { Reader } from "./objects.js";

const LARGEST = 4 * 1024 * 1024;
const FILE_NAME = "record.json";
const SUBMITTAL_NAME = "submittal.json";
// What the names of a contractor's signing certificates end with: these vouch for no record.
const SUBMITTALS = ", submittals";
const CLOCK_ALLOWANCE = 10 * 60 * 1000;
const RANGE = /\/ByteRange\s*\[\s*(\d+)\s+(\d+)\s+(\d+)\s+(\d+)\s*\]/;

// What is to be known of a file: `faults` is empty exactly when it is genuine. `signer` and
// `signedAt` are claims as long as there are faults; `record`, or `submittal` of a contractor, is
// given without faults only.
export async function check(bytes, roots, now = new Date()) {
  if (bytes.length > LARGEST) return { faults: ["TOO_LARGE"] };
  const text = latin1(bytes);
  if (!text.startsWith("%PDF-")) return { faults: ["NOT_A_PDF"] };
  if (/\/Encrypt\s+\d+\s+\d+\s+R/.test(text)) return { faults: ["ENCRYPTED"] };
  const ranges = text.split("/ByteRange").length - 1;
  if (ranges < 1) return { faults: ["NO_SIGNATURE"] };
  if (ranges > 1) return { faults: ["SEVERAL_SIGNATURES"] };
  try {
    return await checkSignature(bytes, text, roots, now);
  } catch {
    // The bytes come from anyone; whatever they break, the answer to the reader is the same.
    return { faults: ["UNREADABLE"] };
  }
}

async function checkSignature(bytes, text, roots, now) {
  const range = RANGE.exec(text)?.slice(1).map(Number);
  const dictionary = dictionaryAround(text);
  if (!range || !dictionary) return { faults: ["UNREADABLE"] };
  const [start, before, resume, after] = range;
  const between = text.slice(before, resume);
  const hex = /^<([0-9A-F]+)>$/.exec(between)?.[1];
  const faults = [];
  const isWhole = start === 0 && 0 < before && before < resume && resume + after === bytes.length;
  if (!isWhole || !hex) return { faults: ["NOT_WHOLE"] };
  const container = containerOf(fromHex(hex));
  const attributes = await attributesOf(container);
  const signedAt = momentIn(dictionary.get("M"));
  const isClosed = container.isAsMade && attributes.isOfData && attributes.namesCertificate;
  if (!isClosed || !closesFile(dictionary) || !signedAt) faults.push("NOT_A_RECORD_SIGNATURE");
  const signed = joined(bytes.subarray(start, before), bytes.subarray(resume, resume + after));
  if (!same(attributes.digest, await sha256(signed))) faults.push("ALTERED");
  if (!(await isSignatureGood(container))) faults.push("BAD_SIGNATURE");
  const root = await issuerOf(container.certificate, roots, signedAt, faults);
  if (signedAt && signedAt - now > CLOCK_ALLOWANCE) faults.push("SIGNED_IN_FUTURE");
  if (container.stamp && !(await isStampOf(container))) faults.push("BAD_STAMP");
  const found = {
    faults,
    signedAt,
    signer: container.certificate.names.commonName,
    issuer: root?.names.organisation ?? null,
    hasStamp: container.stamp !== null,
    rootDigest: root ? toHex(await sha256(root.whole)) : null,
  };
  if (faults.length) return found;
  const read = found.signer?.endsWith(SUBMITTALS) ? submittalIn : recordIn;
  return { ...found, ...(await contentOf(bytes, found.hasStamp, read)) };
}

async function issuerOf(certificate, roots, signedAt, faults) {
  if (!signedAt) return null;
  if (signedAt < certificate.from || signedAt > certificate.until) {
    faults.push("OUTSIDE_VALIDITY");
    return null;
  }
  if (faults.length) return null;
  const root = await rootOf(certificate, roots, signedAt);
  if (!root) faults.push("UNKNOWN_ISSUER");
  return root;
}

async function contentOf(bytes, hasStamp, read) {
  try {
    const document = await new Document(bytes).open();
    // The evidence beside a time-stamp, without the time-stamp: it was taken out.
    if (!hasStamp && (await document.hasEvidence())) return { faults: ["NOT_A_RECORD_SIGNATURE"] };
    return await read(document);
  } catch {
    return { faults: ["NO_RECORD"] };
  }
}

async function recordIn(document) {
  const record = parsed(await document.attached(FILE_NAME));
  const digests = { record: await digestOf(record), standard: await digestOf(record.standard) };
  const agrees =
    digests.standard === record.standard_digest &&
    digests.standard === record.decision.standard_digest;
  return { record, digests, faults: agrees ? [] : ["OTHER_STANDARD"] };
}

async function submittalIn(document) {
  const submittal = parsed(await document.attached(SUBMITTAL_NAME));
  if (submittal.schema !== "bankermark/submittal/1") throw new Error("no submittal is there");
  return { submittal, digests: { submittal: await digestOf(submittal) }, faults: [] };
}

function parsed(data) {
  return JSON.parse(new TextDecoder("utf-8", { fatal: true }).decode(data));
}

// The dictionary of the signature: of the object that "/ByteRange" stands in.
function dictionaryAround(text) {
  const place = text.indexOf("/ByteRange");
  const begin = text.lastIndexOf(" obj", place);
  const found = begin < 0 ? null : new Reader(text, begin + " obj".length).read();
  return found instanceof Map && found.has("ByteRange") ? found : null;
}

// Whether it is a PAdES signature that permits no changes at all (ISO 32000-1, 12.8.2.2).
function closesFile(dictionary) {
  const [reference, ...more] = dictionary.get("Reference") ?? [];
  return (
    dictionary.get("SubFilter")?.text === "ETSI.CAdES.detached" &&
    !more.length &&
    reference?.get("TransformMethod")?.text === "DocMDP" &&
    reference.get("TransformParams")?.get("P") === 1
  );
}

// A date of a PDF (ISO 32000-1, 7.9.4) with its offset.
function momentIn(text) {
  const found =
    /^D:(\d{4})(\d\d)(\d\d)(\d\d)(\d\d)(\d\d)(?:Z(?:00'00'?)?|([+-])(\d\d)'(\d\d)'?)$/.exec(text ?? "");
  if (!found) return null;
  const [year, month, day, hour, minute, second] = found.slice(1, 7).map(Number);
  const offset = found[7] ? (Number(found[8]) * 60 + Number(found[9])) * 60_000 : 0;
  const utc = Date.UTC(year, month - 1, day, hour, minute, second);
  return new Date(utc - (found[7] === "-" ? -offset : offset));
}
