// All criteria and hold points of one attempt, stage by stage: what is scored and what waits.

import { h, key, say } from "../dom.js";
import { placeOf } from "../record.js";
import { CRITERION, nextTodo, sheetOf, wordOf } from "../sheet.js";
import { gone, progress, undoOf } from "./parts.js";

/** @param {Object} app @param {string} attempt @returns {Object} a screen */
export function attempt(app, name) {
  const place = placeOf(app, name);
  if (!place) return gone();
  const { pack, trainee } = place;
  const sheet = sheetOf(pack, trainee, app.events);
  const fresh = sheet.lines.every((line) => !line.value);
  return {
    title: `Scoring ${trainee.name}`,
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
      h("span", {}, title, critical && kind === CRITERION && [" ", h("span", { class: "tag" }, "Critical")]),
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
    return h("div", { class: "keys" }, key(`${fresh ? "Start" : "Go on"}: ${title}`, { href, kind: "strong wide" }));
  }
  const other = nextTrainee(app, pack, trainee);
  return [
    sheet.todo
      ? say("What is left waits for a hold point that is not accepted. Once the piece is mended, look at the hold point again.")
      : say("✓ Everything is scored. The result is worked out and signed off at the desk, once the scores have arrived there."),
    other && h("div", { class: "keys" }, key(`Next: ${other.name}`, { href: `#/attempt/${other.attempt}`, kind: "strong wide" })),
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
    h("p", {}, "▲ Cautions of the task"),
    h("ul", {}, pack.cautions.map(({ hazard, text, source }) =>
      h("li", {}, hazard ? `${hazard}: ${text}` : text, source && [" ", h("span", { class: "help" }, `Source: ${source}`)]))),
    h("p", { class: "help" }, "Local codes and the judgement of a licensed professional come first. Anybody may stop the work."));
}

/** Cautions may fill the screen of a fresh attempt: its start stands below them all the same. */
function bar(app, pack, trainee, start) {
  const other = nextTrainee(app, pack, trainee);
  let right = h("span");
  if (start) {
    const { kind, key: name } = start.subject;
    right = key("Start ▶", { href: `#/attempt/${trainee.attempt}/${kind}/${name}`, kind: "strong" });
  } else if (other) {
    right = key("Next trainee", { href: `#/attempt/${other.attempt}`, name: `Next trainee: ${other.name}` });
  }
  return h("nav", { class: "bar stay", "aria-label": "Trainees" },
    h("div", { class: "keys two" }, key("◀ Trainees", { href: `#/pack/${pack.id}` }), right));
}
