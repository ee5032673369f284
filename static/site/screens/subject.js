// One criterion or hold point a screen. A verdict is saved by one press and the next one is shown;
// what fails a critical criterion stays in sight.

import { h, key, say } from "../dom.js";
import { photoSlot } from "../photo_slot.js";
import { draftId, lineOf, placeOf, record } from "../record.js";
import { CRITERION, HOLD_POINT, nextTodo, sheetOf, stops, wordOf } from "../sheet.js";
import { checked, counted, holdPoint, notApplicable, note, rated, timed } from "./entries.js";
import { measured } from "./measured.js";
import { gone, progress, undoOf } from "./parts.js";
import { t } from "../words.js";

const ENTRIES = { checked, counted, rated, timed };

/**
 * @param {Object} app
 * @param {string} attempt
 * @param {string} kind criterion or hold_point
 * @param {string} name the subject's key
 * @returns {Object} a screen
 */
export function subject(app, attempt, kind, name) {
  const place = placeOf(app, attempt);
  const sheet = place && sheetOf(place.pack, place.trainee, app.events);
  const line = sheet && lineOf(sheet, kind, name);
  if (!line) return gone();
  const { pack, trainee } = place;
  const number = sheet.lines.indexOf(line) + 1;
  const context = contextOf(app, place, sheet, line);
  const open = !line.stands && (!line.waitsFor || line.value !== null);
  const long = ["measured", "rated", "timed"].includes(line.subject.criterion?.kind);
  return {
    title: `${line.subject.title}, ${trainee.name}`,
    heading: [line.subject.title, line.subject.critical && kind === CRITERION && [" ", h("span", { class: "tag" }, t("Critical"))]],
    head: [
      undoOf(app, attempt),
      h("div", { class: "who" }, h("span", {}, trainee.name), h("span", {}, t("{count} of {total}", { count: number, total: sheet.lines.length }))),
      progress(pack, sheet, line.subject.stage),
    ],
    body: [
      outcome(context),
      line.waitsFor && waits(trainee, line),
      open && entry(context),
      open && below(context),
      line.value && takeBack(context),
    ],
    bar: bar(context, long),
  };
}

function contextOf(app, { pack, trainee }, sheet, line) {
  const id = draftId(trainee.attempt, line.subject);
  const draft = app.drafts.get(id) ?? { id };
  const after = nextTodo(sheet, line);
  let busy = false;
  /** One press is one observation: what comes while it is being saved is dropped. */
  const save = async (value, { stay = false } = {}) => {
    if (busy) return;
    busy = true;
    app.quiet();
    try {
      const fact = { pack, trainee, subject: line.subject, replaces: line.id, value, note: draft.note ?? "" };
      const now = await record(app, fact);
      const saved = lineOf(now, line.subject.kind, line.subject.key);
      if (stay || stops(saved)) await app.refresh();
      else await app.go(ahead(trainee, nextTodo(now, saved)));
    } catch (error) {
      app.complain(error);
    } finally {
      busy = false;
    }
  };
  return {
    app, pack, trainee, sheet, line, draft, save, after,
    goOn: () => app.go(ahead(trainee, after)),
    criterion: line.subject.criterion,
    sums: pack.sums[line.subject.key],
    zone: pack.run.time_zone,
    nextTitle: after && after !== line ? after.subject.title : "",
    keep: (changed) => {
      app.drafts.set(id, changed);
      app.db.put("drafts", changed).catch(app.complain);
    },
    onKey: (listener) => { app.onKey = listener; },
  };
}

function address(trainee, { kind, key: name }) {
  return `#/attempt/${trainee.attempt}/${kind}/${name}`;
}

/** Where the next thing to score is; the list where nothing is left. */
function ahead(trainee, next) {
  return next ? address(trainee, next.subject) : `#/attempt/${trainee.attempt}`;
}

function entry(context) {
  if (context.line.subject.kind === HOLD_POINT) return holdPoint(context);
  return context.criterion.kind === "measured" ? measured(context) : ENTRIES[context.criterion.kind](context);
}

function below(context) {
  const { criterion, line } = context;
  return [
    criterion?.guidance && h("div", { class: "guidance" }, criterion.guidance.split("\n").map((text) => h("p", {}, text))),
    photographs(context),
    criterion?.not_applicable && notApplicable(context),
    line.subject.kind === CRITERION && note(context),
  ];
}

function photographs({ app, pack, trainee, line }) {
  const { kind, key: name, title, stage } = line.subject;
  const slot = photoSlot(app.db, {
    pack, title, attempt: trainee.attempt, subject: { kind, key: name },
    stage: pack.standard.document.stages[stage].key, onChange: app.send,
  });
  const again = () => slot.refresh().catch(app.complain);
  app.onSent.push(again);
  app.onLeave.push(slot.release);
  again();
  return slot.element;
}

/** What is recorded, and what to do where the work must stop. */
function outcome({ pack, trainee, line, after }) {
  if (line.stands) return say(t("✓ This stands from the attempt before: it is not scored again."));
  if (line.acceptedByOther) return h("div", { class: "say aside" }, h("p", {}, t("✓ Accepted by another assessor. Give your own word only if you saw it too.")));
  if (!line.result) return null;
  const stopped = stops(line);
  // A measured criterion says its result itself, above its keys.
  const measures = line.subject.criterion?.kind === "measured" && !line.value.not_applicable;
  if (measures && !stopped) return null;
  const critical = stopped && line.subject.kind === CRITERION;
  return h("div", { class: "aside" },
    h("div", { class: "say", role: "status" },
      h("p", {}, wordOf(line)),
      !measures && h("p", {}, line.result.sentence),
      critical && h("p", {}, criticalWords(pack, line))),
    !measures && h("div", { class: "keys" }, onward(trainee, line, after)));
}

function onward(trainee, line, after) {
  if (after && after !== line) {
    return key(t("Next: {title}", { title: after.subject.title }), { href: address(trainee, after.subject), kind: "strong wide" });
  }
  return key(t("All criteria"), { href: `#/attempt/${trainee.attempt}`, kind: "strong wide" });
}

const THEN = "Look once more and correct it if you misread. If going on would hurt somebody or the stone, stop the work and make it safe. Else score the rest, so that the trainee learns what to practise.";

/** The same words as on the desk's scoring page. */
function criticalWords(pack, line) {
  const rule = pack.standard.document.pass_rule;
  const then = ` ${t(THEN)}`;
  if (!rule.critical) {
    return t("This criterion is marked critical. The pass rule of this standard does not ask for the critical criteria: it counts in the scores like any other.") + then;
  }
  if (decidesAlone(rule, line.subject.criterion)) {
    return t("This criterion is critical: as it stands, the standard is not met, whatever else is scored.") + then;
  }
  return t("This criterion is critical, and by your score it is not met. The score of another assessor may still change that.") + then;
}

/** As assessments/engine/rule/alone.py. */
function decidesAlone(rule, criterion) {
  const full = criterion.kind !== "rated" || criterion.met_from === criterion.levels.length - 1;
  return rule.assessors.combine === "mean" ? full : rule.assessors.combine === "lower";
}

function waits(trainee, line) {
  const first = line.result
    ? t("What is scored here does not count before the hold point is accepted.")
    : t("Look at the hold point first; what is scored here does not count before it is accepted.");
  return h("div", { class: "aside" },
    say(t("Stop: this waits for “{title}”.", { title: line.waitsFor.title }), `${t("The next steps hide what is looked at there.")} ${first}`),
    h("div", { class: "keys" }, key(t("Go to the hold point"), { href: address(trainee, line.waitsFor), kind: "strong wide" })));
}

function takeBack({ save }) {
  return [
    h("h2", {}, t("Scored the wrong thing?")),
    h("div", { class: "keys" }, key(t("Take back what is recorded"), { press: () => save({ cleared: true }, { stay: true }), kind: "wide" })),
  ];
}

function bar({ trainee, sheet, line }, long) {
  const at = sheet.lines.indexOf(line);
  const [before, after] = [sheet.lines[at - 1], sheet.lines[at + 1]];
  return h("nav", { class: long ? "bar" : "bar stay", "aria-label": t("Criteria") },
    h("div", { class: "keys three" },
      before ? key(t("◀ Back"), { href: address(trainee, before.subject) }) : h("span"),
      key(t("All"), { href: `#/attempt/${trainee.attempt}` }),
      after ? key(t("Next ▶"), { href: address(trainee, after.subject) }) : h("span")));
}
