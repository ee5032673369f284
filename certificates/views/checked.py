"""What the public page of a record tells, as JSON and as facts for the page.

Of a person it tells the holder's name, as the paper does, and nothing else.
"""

from datetime import date, datetime
from typing import Any

from django.utils.formats import date_format

from assessments.engine.numbers import exact, percent_text
from certificates.models import Submittal
from certificates.queries.check import Checked
from certificates.queries.check_file import CheckedFile
from certificates.queries.standing import DOUBTFUL
from certificates.submittal.facts import numbers_in

NOT_VOUCHED = "cannot_be_vouched_for"
TOLD = ("issuer", "holder", "program", "course_run", "conditions", "outcomes", "result")
TOLD_LAST = ("decided_at", "standard_digest", "sealed_at", "issued_at", "valid_until", "replaces")


def as_json(checked: Checked) -> dict[str, Any]:
    """Return the check as plain data: ``status`` is a word, ``faults`` says what is wrong."""
    head: dict[str, Any] = {
        "number": checked.number,
        "checked_at": checked.at.isoformat(timespec="seconds"),
        "genuine": _genuine(checked),
        "faults": checked.faults,
    }
    return {**head, **_told(checked)}


def _genuine(checked: Checked | CheckedFile) -> bool:
    """Say whether nothing is wrong; the signature of a key that was given up proves nothing."""
    doubtful = checked.standing is not None and checked.standing.word == DOUBTFUL
    return not checked.faults and not doubtful


def _told(checked: Checked | CheckedFile) -> dict[str, Any]:
    if checked.standing is None or checked.document is None:
        return {"status": NOT_VOUCHED}
    return {
        "status": checked.standing.word,
        "counts_today": checked.standing.counts,
        "replaced_by": checked.standing.replaced_by,
        "record": {
            **{name: checked.document[name] for name in (*TOLD, *TOLD_LAST)},
            # Only where the standard has rules for it: older records state none.
            **{name: checked.document[name] for name in ("range",) if name in checked.document},
        },
    }


def file_as_json(checked: CheckedFile) -> dict[str, Any]:
    """Return the check of a file as plain data; ``steps`` say what was checked and what was not."""
    head: dict[str, Any] = {
        "number": checked.number,
        "checked_at": checked.at.isoformat(timespec="seconds"),
        "genuine": _genuine(checked),
        "faults": checked.faults,
        "steps": [
            {"step": step.key, "title": step.title, "state": step.state, "faults": step.faults}
            for step in checked.steps
        ],
    }
    return {**head, **_told(checked)}


def submittal_as_json(submittal: Submittal) -> dict[str, Any]:
    """Return what a file is that is a contractor's submittal, to the last byte."""
    return {
        "status": "submittal",
        "genuine": True,
        "submittal": submittal.number,
        "project": submittal.project.name,
        "contractor": submittal.project.contractor.name,
        "submitted_at": submittal.document["submitted_at"],
        "records": [number for number, _ in numbers_in(submittal.document)],
        "detail": "It says how the records stood then. Check the number of each for today.",
    }


def facts(document: dict[str, Any] | None) -> dict[str, Any]:
    """Return the days and instants of the record as the page writes them.

    They are told in the offset that the record gives, which is that of the site, whatever
    the time zone of the server.
    """
    if document is None:
        return {}
    return {
        "issued_on": _day(document["issued_at"]),
        "decided_on": _day(document["decided_at"]),
        "valid_until": _day(document["valid_until"]),
        "sealed": _instant(document["sealed_at"]),
        "signed": _instant(document["issued_at"]),
        "starts_on": _day(document["course_run"]["starts_on"]),
        "ends_on": _day(document["course_run"]["ends_on"]),
        "outcomes": [
            {**outcome, "percent": _percent(outcome["score"])} for outcome in document["outcomes"]
        ],
    }


def _percent(score: str | None) -> str:
    return percent_text(exact(score)) if score else ""


def _day(text: str | None) -> date | None:
    return date.fromisoformat(text[:10]) if text else None


def _instant(text: str) -> str:
    moment = datetime.fromisoformat(text)
    return f"{date_format(moment, 'DATETIME_FORMAT')} {moment.tzname()}"
