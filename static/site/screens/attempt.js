// All criteria and hold points of one attempt, stage by stage: what is scored and what waits.

import { h, key, say } from "../dom.js";
import { placeOf } from "../record.js";
import { CRITERION, nextTodo, sheetOf, wordOf } from "../sheet.js";
import { gone, progress, undoOf } from "./parts.js";
import { t } from "../words.js";

/** @param {Object} app @param {string} attempt @returns {Object} a screen */
export function attempt(app, name) {
  const place = placeOf(app, name);
  if (!place) return gone();
  const { pack, trainee } = place;
  const sheet = sheetOf(pack, trainee, app.events);
  const fresh = sheet.lines.every((line) => !line.value);
  return {
    title: t("Scoring {name}", { name: trainee.name }),
    heading: trainee.name,
    head: [undoOf(app, trainee.attempt), progress(pack, sheet)],
    body: [
      fresh && cautions(pack),
      onward(app, pack, trainee, sheet, fresh),
      pack.standard.document.stages.map((stage, index) => [
        h("h2", {}, `${index + 1}. ${stage.title}`),
        h("ul", { class: "list" }, sheet.lines.filter((line) => line.subject.stage === index).map((line) => row(trainee, line))),
      ]),
      !fresh && cautions(pack),
    ],
    bar: bar(app, pack, trainee, fresh && nextTodo(sheet)),
  };
}

function row(trainee, line) {
  const { kind, key: name, title, critical } = line.subject;
  return h("li", {}, key(
    [
      h("span", {}, title, critical && kind === CRITERION && [" ", h("span", { class: "tag" }, t("Critical"))]),
      h("span", {}, wordOf(line)),
    ],
    { href: `#/attempt/${trainee.attempt}/${kind}/${name}`, kind: line.done ? "" : "empty" },
  ));
}

function onward(app, pack, trainee, sheet, fresh) {
  const next = nextTodo(sheet);
  if (next) {
    const { kind, key: name, title } = next.subject;
    const href = `#/attempt/${trainee.attempt}/${kind}/${name}`;
    return h("div", { class: "keys" }, key(t(fresh ? "Start: {title}" : "Go on: {title}", { title }), { href, kind: "strong wide" }));
  }
  const other = nextTrainee(app, pack, trainee);
  return [
    sheet.todo
      ? say(t("What is left waits for a hold point that is not accepted. Once the piece is mended, look at the hold point again."))
      : say(t("✓ Everything is scored. The result is worked out and signed off at the desk, once the scores have arrived there.")),
    other && h("div", { class: "keys" }, key(t("Next: {title}", { title: other.name }), { href: `#/attempt/${other.attempt}`, kind: "strong wide" })),
  ];
}

/** The next trainee of the pack with something to score, looking on from this one. */
function nextTrainee(app, pack, trainee) {
  const scored = pack.trainees.filter((each) => each.attempt);
  const at = scored.indexOf(trainee) + 1;
  return [...scored.slice(at), ...scored.slice(0, at - 1)].find((each) => nextTodo(sheetOf(pack, each, app.events)));
}

function cautions(pack) {
  if (!pack.cautions?.length) return null;
  return h("div", { class: "say", role: "note" },
    h("p", {}, t("▲ Cautions of the task")),
    h("ul", {}, pack.cautions.map(({ hazard, text, source }) =>
      h("li", {}, hazard ? `${hazard}: ${text}` : text, source && [" ", h("span", { class: "help" }, t("Source: {source}", { source }))]))),
    h("p", { class: "help" }, t("Local codes and the judgement of a licensed professional come first. Anybody may stop the work.")));
}

/** Cautions may fill the screen of a fresh attempt: its start stands below them all the same. */
function bar(app, pack, trainee, start) {
  const other = nextTrainee(app, pack, trainee);
  let right = h("span");
  if (start) {
    const { kind, key: name } = start.subject;
    right = key(t("Start ▶"), { href: `#/attempt/${trainee.attempt}/${kind}/${name}`, kind: "strong" });
  } else if (other) {
    right = key(t("Next trainee"), { href: `#/attempt/${other.attempt}`, name: t("Next trainee: {name}", { name: other.name }) });
  }
  return h("nav", { class: "bar stay", "aria-label": t("Trainees") },
    h("div", { class: "keys two" }, key(t("◀ Trainees"), { href: `#/pack/${pack.id}` }), right));
}
