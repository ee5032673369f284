// RFC 8785 for documents without numbers other than whole ones, and their digest.

import { sha256, toHex } from "./bytes.js";

export function canonical(value) {
  if (Array.isArray(value)) return `[${value.map(canonical).join(",")}]`;
  if (value === null || typeof value !== "object") {
    if (typeof value === "number" && !Number.isSafeInteger(value)) throw new Error("no whole number");
    return JSON.stringify(value);
  }
  // Names are put in the order of their UTF-16 units (RFC 8785, 3.2.3), which is that of sort().
  const names = Object.keys(value).sort();
  return `{${names.map((name) => `${JSON.stringify(name)}:${canonical(value[name])}`).join(",")}}`;
}

export const digestOf = async (value) =>
  toHex(await sha256(new TextEncoder().encode(canonical(value))));
