// The page of the checker: choose files, see what was checked and what was not. Nothing is sent.

import { certificatesIn } from "./certificates.js";
import { check } from "./check.js";

const told = JSON.parse(document.getElementById("told").textContent);
const results = document.getElementById("results");
const roots = [];

function element(name, text, ...children) {
  const made = document.createElement(name);
  if (text) made.textContent = text;
  made.append(...children);
  return made;
}

const list = (items) => element("ul", "", ...items.map((item) => element("li", item)));

function addRoots(pem, from) {
  let found = [];
  try {
    found = certificatesIn(pem);
  } catch {
    // Told below: another kind of certificate is none that issuers of records have.
  }
  roots.push(...found);
  const names = found.map(({ names, until }) =>
    `${names.organisation}, until ${until.toISOString().slice(0, 10)} (${from})`,
  );
  const none = `${from}: no root certificate of an issuer of records is in it.`;
  const place = document.getElementById("roots");
  place.append(...(names.length ? names : [none]).map((name) => element("li", name)));
  document.getElementById("no-roots").hidden = roots.length > 0;
}

function firstWrong({ faults }) {
  const keys = faults.map((fault) => told.stepOf[fault]);
  return told.steps.findIndex(({ key }) => keys.includes(key));
}

function wordOf(found) {
  if (found.faults.length) return ["bad", "Do not rely on it"];
  if (found.submittal) return ["good", "As its contractor signed it"];
  const { valid_until: until } = found.record;
  const today = new Date().toLocaleDateString("sv-SE"); // the form of ISO 8601
  if (until && until < today) return ["doubt", "Genuine, but lapsed"];
  return ["good", "Genuine as issued"];
}

function rangeRows(range) {
  if (!range) return [];
  const covers = range.rows.map(({ title, covers }) => `${title}: ${covers}`).join(" ");
  return [["Range of qualification", covers], ["To go on counting", range.continuity]];
}

function facts({ record, digests, issuer, signedAt, rootDigest }) {
  const { holder, program, course_run: run } = record;
  const rows = [
    ["Holder", holder.name],
    ["Program", `${program.title} (${program.code}, version ${program.version})`],
    ["Scope", program.scope],
    ["Assessed under", record.conditions.map(({ name, value }) => `${name}: ${value}`).join("; ")],
    ...rangeRows(record.range),
    ["Taught at", `${run.site}, ${run.starts_on} to ${run.ends_on}`],
    ["Number", record.number],
    ["Issued by", `${record.issuer.name} (root of ${issuer})`],
    ["Signed", signedAt.toISOString().replace("T", " ").slice(0, 16) + " UTC"],
    ["Valid until", record.valid_until ?? "No last day"],
    ["Digest of the record (SHA-256)", digests.record],
    ["Digest of the passing standard", digests.standard],
    ["Digest of the root certificate", rootDigest],
  ].filter(([, value]) => value);
  return element("dl", "", ...rows.map(([term, value]) =>
    element("div", "", element("dt", term), element("dd", value)),
  ));
}

function factsOfSubmittal({ submittal, digests, issuer, signedAt, rootDigest }) {
  const { project, contractor, owner, posts, day } = submittal;
  const named = posts.flatMap(({ covered_by: rows }) => rows.map(({ number }) => number));
  const rows = [
    ["Project", project.name],
    ["Place", project.place],
    ["Contractor", `${contractor.name} (root of ${issuer})`],
    ["Owner", owner?.name],
    ["Submittal", `${submittal.number}, as at ${day}`],
    ["Signed", signedAt.toISOString().replace("T", " ").slice(0, 16) + " UTC"],
    ["Records named", [...new Set(named)].join(", ")],
    ["Digest of the submittal (SHA-256)", digests.submittal],
    ["Digest of the root certificate", rootDigest],
  ].filter(([, value]) => value);
  return element("dl", "", ...rows.map(([term, value]) =>
    element("div", "", element("dt", term), element("dd", value)),
  ));
}

function outcomes({ record }) {
  const words = { met: "met", not_met: "not met", no_minimum: "no minimum set" };
  return list(record.outcomes.map(({ key, statement, result }) =>
    `${key} ${statement}: ${words[result] ?? result}`,
  ));
}

function checkedAndNot(found) {
  const wrong = firstWrong(found);
  const steps = found.submittal ? told.stepsOfSubmittal : told.steps;
  const good = wrong < 0 ? steps : steps.slice(0, wrong);
  const skipped = wrong < 0 ? [] : steps.slice(wrong + 1);
  const not = skipped.map(({ title }) => `Not reached: ${title}`);
  if (found.hasStamp) not.push(told.stamp);
  const checked = good.length
    ? list(good.map(({ title }) => title))
    : element("p", "Nothing more than what is told above.");
  return [
    element("h4", "What was checked"),
    checked,
    element("h4", "What was not"),
    list([...not, ...(found.submittal ? told.notOfSubmittal : told.not)]),
  ];
}

function linkOf({ record }) {
  const url = record?.check_url ?? "";
  if (!/^https?:\/\//.test(url)) return [];
  const link = element("a", url);
  link.href = url;
  link.rel = "noreferrer";
  return [element("p", "How it stands today: ", link)];
}

function shown(name, found) {
  const [tone, word] = wordOf(found);
  const article = element("article", "", element("h3", name));
  const status = element("p", word);
  status.className = `status ${tone}`;
  article.append(status);
  if (found.faults.length) {
    const step = told.steps[firstWrong(found)];
    article.append(list(found.faults.map((fault) => told.sentences[fault])));
    article.append(element("p", told.toDo[step.key]));
    if (found.signer) article.append(element("p", told.claims.replace("{}", found.signer)));
  } else if (found.submittal) {
    article.append(element("p", found.submittal.project.name), factsOfSubmittal(found));
  } else {
    const heading = `${found.record.holder.name} met the passing standard of this program.`;
    article.append(element("p", heading), facts(found), element("h4", "What the holder showed"));
    article.append(outcomes(found), ...linkOf(found));
  }
  article.append(...checkedAndNot(found));
  return article;
}

async function checkFiles(files) {
  for (const file of files) {
    // Only as much is read as shows that it is too large.
    const start = file.slice(0, told.largest + 1);
    const found = await check(new Uint8Array(await start.arrayBuffer()), roots);
    results.prepend(shown(file.name, found));
  }
}

document.getElementById("file").addEventListener("change", async ({ target }) => {
  await checkFiles([...target.files]);
  target.value = "";
});
document.getElementById("root").addEventListener("change", async ({ target }) => {
  for (const file of target.files) addRoots(await file.text(), file.name);
  target.value = "";
});
for (const pem of told.roots) addRoots(pem, told.origin);
document.getElementById("form").hidden = !globalThis.crypto?.subtle || !globalThis.DecompressionStream;
document.getElementById("too-old").hidden = !document.getElementById("form").hidden;
