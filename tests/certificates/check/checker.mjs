// Runs the checker's modules over the files in a folder: node checker.mjs ROOTS.pem FOLDER NOW
// Prints one JSON object: the faults of each file, and what a genuine one says.

import { readFileSync, readdirSync } from "node:fs";
import { join } from "node:path";

import { certificatesIn } from "../../../static/checker/certificates.js";
import { check } from "../../../static/checker/check.js";

const [roots, folder, now] = process.argv.slice(2);
const known = certificatesIn(readFileSync(roots, "latin1"));
const found = {};
for (const name of readdirSync(folder)) {
  const bytes = new Uint8Array(readFileSync(join(folder, name)));
  found[name] = await check(bytes, known, new Date(now));
}
console.log(JSON.stringify(found));
