"""The whole panel as one document, ``bankermark/panel/1``: what its report is made of."""

import re
from datetime import datetime
from typing import Any

from assessments.evidence.results import section_document
from assessments.models import Criterion, Judgement, JudgingRound, Panel
from assessments.queries.panel.arrays import letters_of
from assessments.queries.panel.asked import asked_keys
from assessments.queries.panel.judged import judged_document
from assessments.queries.panel.recommendation import Advice
from assessments.queries.panel.spread import spread_of
from assessments.queries.program_document import program_document

SCHEMA = "bankermark/panel/1"
CRITERION = ("key", "title", "weight")


def panel_document(
    panel: Panel, advice: Advice, adoption: dict[str, Any] | None = None
) -> dict[str, Any]:
    """Return method, judges, judgements by round, recommendation and adoption of a panel.

    ``adoption`` is {cut, band, minima, critical, reason, at, by}, or None before it. The result
    holds strings, whole numbers, booleans, null, lists and objects only; shares are exact text,
    figures of the analyses text with at most six places. A constant
    number of queries for each round.
    """
    program = panel.program
    letters = letters_of(panel)
    return {
        "schema": SCHEMA,
        "id": str(panel.pk),
        "number": panel.number,
        "program": {"code": program.code, "version": program.version, "title": program.title},
        "method": panel.method,
        "statistic": panel.statistic,
        "just_meets": panel.just_meets,
        "made_at": _instant(panel.made_at),
        "made_by": panel.made_by.full_name,
        "sources": [
            {
                "site": run.site.name,
                "starts_on": run.starts_on.isoformat(),
                "ends_on": run.ends_on.isoformat(),
            }
            for run in panel.sources.select_related("site").order_by("starts_on", "id")
        ],
        "judged_digest": panel.judged_digest,
        "items": _items(panel),
        "judges": [
            {
                "judge": letters[judge.pk],
                "name": judge.person.full_name,
                "state": judge.state,
                "qualifications": judge.qualifications,
                "interests": judge.interests,
                "declared_at": _instant(judge.declared_at),
                "stood_down_because": judge.stood_down_because,
            }
            for judge in panel.judges.select_related("person").order_by("pk")
        ],
        "rounds": _rounds(panel, letters),
        "recommendation": _recommendation(advice),
        "adoption": adoption,
    }


def _items(panel: Panel) -> list[dict[str, Any]]:
    """Return what was judged, in order: {kind, key, title}, and the weight of a criterion."""
    rows = Criterion.objects.filter(task__program=panel.program_id)
    named = {key: (title, weight) for key, title, weight in rows.values_list(*CRITERION)}
    found: list[dict[str, Any]] = []
    for kind, key in asked_keys([panel])[panel.pk]:
        if kind == Judgement.Subject.CRITERION:
            title, weight = named[key]
            found.append({"kind": kind, "key": key, "title": title, "weight": weight})
        elif kind == Judgement.Subject.ATTEMPT:
            found.append({"kind": kind, "key": key, "title": f"Piece {len(found) + 1}"})
    return found


def _rounds(panel: Panel, letters: dict[int, str]) -> list[dict[str, Any]]:
    said: dict[int, list[dict[str, Any]]] = {}
    rows = Judgement.objects.filter(round__panel=panel).order_by("made_at", "id")
    for row in rows:
        said.setdefault(row.round_id, []).append(
            {
                "id": str(row.pk),
                "judge": letters[row.judge_id],
                "subject": {"kind": row.subject_kind, "key": row.subject_key},
                "value": row.value,
                "note": row.note,
                "made_at": _instant(row.made_at),
                "replaces": str(row.replaces_id) if row.replaces_id else None,
            }
        )
    shown = judged_document(program_document(panel.program))
    rounds = JudgingRound.objects.filter(panel=panel).order_by("number")
    return [
        {
            "number": round.number,
            "opened_at": _instant(round.opened_at),
            "closed_at": _instant(round.closed_at),
            "discussion": round.discussion,
            # Nobody reads an open round: the judges are still at it, unseen.
            "judgements": said.get(round.pk, []) if _closed(round) else [],
            "drawings": _drawings(panel, round, shown),
        }
        for round in rounds
    ]


def _drawings(panel: Panel, round: JudgingRound, shown: dict[str, Any]) -> list[dict[str, Any]]:
    """Return what a closed round looked like; nothing of an open one is drawn."""
    if not _closed(round):
        return []
    return [
        _of_round(round.number, drawing) for drawing in spread_of(panel, round, shown)["drawings"]
    ]


def _of_round(number: int, drawing: dict[str, Any]) -> dict[str, Any]:
    """Return the drawing with ids of its own, since the rounds stand in one report."""
    key = f"round-{number}-{drawing['key']}"
    ids = re.compile(rf"(?<=[\"#]){re.escape(drawing['key'])}(?=-)")
    return {**drawing, "key": key, "svg": ids.sub(key, drawing["svg"])}


def _recommendation(advice: Advice) -> dict[str, Any]:
    return {
        "cut": advice.cut,
        "standard_error": advice.standard_error,
        "suggested_band": advice.suggested_band,
        "not_computed": advice.why_no_cut,
        "judges": advice.judges,
        "rounds": advice.rounds,
        "pieces": [{"attempt": str(row.attempt), "score": row.score} for row in advice.pieces],
        "earlier": [{"attempt": str(row.attempt), "score": row.score} for row in advice.earlier],
        "sections": [section_document(section) for section in advice.sections],
    }


def _closed(round: JudgingRound) -> bool:
    return round.state == JudgingRound.State.CLOSED


def _instant(moment: datetime | None) -> str | None:
    return moment.isoformat(timespec="seconds") if moment else None
