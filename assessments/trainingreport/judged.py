"""The parts on what was judged: the passing standard, results, work, cautions, what follows.

Every figure is the engine's, read from the decisions that count now; nothing is decided here.
"""

from collections.abc import Sequence
from datetime import datetime
from fractions import Fraction
from typing import Any
from zoneinfo import ZoneInfo

from assessments.engine.errors import EngineError
from assessments.engine.numbers import number_text
from assessments.engine.qualification import stated_range
from assessments.models import Attempt, Panel, SealedStandard
from assessments.queries.attainment import Attainment
from assessments.queries.attempts import Standing
from assessments.queries.task_sheet import sheet_of
from assessments.sentences import pass_rule_sentences
from assessments.trainingreport.people import People
from assessments.trainingreport.work import MayDo
from training.models import CourseRun
from training.said import english

Facts = dict[str, Any]


def standards_of(run: CourseRun) -> list[SealedStandard]:
    """Return the standards that were applied on ``run``, else the newest of its program.

    By serial; empty where none is sealed (two queries at most).
    """
    attempts = Attempt.objects.filter(enrolment__run=run).exclude(state=Attempt.State.VOID)
    applied = SealedStandard.objects.filter(pk__in=attempts.values("standard")).order_by("serial")
    return list(applied) or list(run.program.standards.order_by("-serial")[:1])


def standard_facts(run: CourseRun, standards: Sequence[SealedStandard], zone: ZoneInfo) -> Facts:
    """Return each standard with its digest, when it was fixed and by whom (one query)."""
    first = (
        Attempt.objects.filter(enrolment__run=run)
        .exclude(state=Attempt.State.VOID)
        .order_by("started_at")
        .values_list("started_at", flat=True)
        .first()
    )
    return {
        "standards": [_standard(each, zone) for each in standards],
        "first_attempt": _moment(first, zone) if first else "",
    }


def results_facts(found: Attainment, standings: Sequence[Standing], people: People) -> Facts:
    """Return the results in total, by outcome, and by person; shares are exact fractions of 1."""
    words = {each.enrolment.person_id: each for each in standings}
    trainees = [
        (each.person_id, words[each.person_id])
        for each in people.trainees
        if each.person_id in words
    ]
    return {
        "totals": {
            name: getattr(found, name)
            for name in (
                "enrolled",
                "withdrawn",
                "assessed",
                "met",
                "not_yet_met",
                "incomplete",
                "open",
                "none",
            )
        },
        "outcomes": [
            {
                "key": each.key,
                "statement": each.statement,
                "met": each.met,
                "not_met": each.not_met,
                "no_minimum": each.no_minimum,
                "not_judged": each.not_judged,
                "scored": each.scored,
                "mean": _text(each.mean),
            }
            for each in found.outcomes
        ],
        "people": [
            {
                "name": people.label(person),
                "word": standing.word,
                "attempts": len(standing.attempts),
                "withdrawn": standing.enrolment.state == standing.enrolment.State.WITHDRAWN,
            }
            for person, standing in trainees
        ],
    }


def work_facts(rows: Sequence[MayDo], people: People) -> Facts:
    """Return the records with what they cover.

    A record's number leads to a page with its holder's name: it is told with the name alone.
    """
    told = []
    for row in rows:
        told.append(
            {
                "name": people.label(row.person),
                "number": row.number if row.person in people.named else "",
                "issued": row.issued,
                "state": row.state,
                "counts": row.counts,
                "until": row.until,
                "covers": [list(each) for each in row.covers],
            }
        )
    return {"records": told, "counting": sum(row.counts for row in rows)}


def cautions_facts(run: CourseRun, standards: Sequence[SealedStandard]) -> Facts:
    """Return the cautions of the task under the newest standard applied."""
    if not standards:
        return {"cautions": []}
    try:
        cautions = sheet_of(run.program, standards[-1].document).cautions
    except EngineError:
        cautions = []  # what was sealed before tasks were can be unreadable as a sheet
    return {
        "cautions": [
            {name: each.get(name, "") for name in ("hazard", "text", "source")} for each in cautions
        ]
    }


def next_facts(found: Attainment, standards: Sequence[SealedStandard]) -> Facts:
    """Return who may try again, and what keeps records counting."""
    stated = stated_range(standards[-1].document) if standards else None
    return {
        "again": found.not_yet_met + found.incomplete,
        "open": found.open,
        "none": found.none,
        "continuity": stated["continuity"] if stated else "",
        "renewal": stated["renewal"] if stated else "",
    }


def _standard(standard: SealedStandard, zone: ZoneInfo) -> Facts:
    panel = standard.document.get("about", {}).get("panel")
    return {
        "serial": standard.serial,
        "digest": standard.digest,
        "sealed": _moment(standard.sealed_at, zone),
        "rules": pass_rule_sentences(standard.document),
        "criteria": len(standard.document["criteria"]),
        "panel": None
        if panel is None
        else {
            "number": panel["number"],
            "method": english(Panel.Method(panel["method"]).label),
            "judges": panel["judges"],
            "rounds": panel["rounds"],
            "adopted_cut": panel["adopted_cut"],
            "digest": panel["digest"],
        },
    }


def _moment(at: datetime, zone: ZoneInfo) -> str:
    return at.astimezone(zone).isoformat(timespec="minutes")


def _text(share: Fraction | None) -> str | None:
    return None if share is None else number_text(share)
