"""What both documents say: who met which passing standard, when, and how to check it."""

import unicodedata
from collections.abc import Mapping
from typing import Any

from django.utils.safestring import mark_safe

from assessments.engine.numbers import exact, percent_text
from assessments.engine.qualification import continuity_brief, rules_in
from certificates.rendering.wording import say_date, say_instant, say_period, say_result, tied
from training.documents.qr import qr_svg

# Names up to so many columns are set in the size of that step; longer ones in the last.
NAME_STEPS = ((26, "name-1"), (40, "name-2"), (58, "name-3"))
SMALLEST_NAME = "name-4"
COMBINING = ("Mn", "Me", "Cf")


def facts_of(record: Mapping[str, Any]) -> dict[str, Any]:
    """The texts of a record but its criteria, all of them ready to print."""
    number = record["number"]
    run = record["course_run"]
    valid_until = record["valid_until"]
    return {
        "number": number,
        "issuer": record["issuer"],
        "holder": record["holder"]["name"],
        "name_size": name_size(record["holder"]["name"]),
        "program": record["program"],
        "site": run["site"],
        "period": say_period(run["starts_on"], run["ends_on"]),
        "conditions": record["conditions"],
        "range": _range(record),
        "outcomes": [
            {
                "key": outcome["key"],
                "statement": outcome["statement"],
                "result": say_result(outcome["result"]),
                "score": percent_text(exact(outcome["score"])) if outcome["score"] else "",
            }
            for outcome in record["outcomes"]
        ],
        "decided": say_date(record["decided_at"]),
        "issued": say_date(record["issued_at"]),
        "valid_until": say_date(valid_until) if valid_until else "",
        "assessors": ", ".join(assessor["name"] for assessor in record["assessors"]),
        "digest": record["standard_digest"],
        "sealed_at": say_instant(record["sealed_at"]),
        "sealed_by": record["sealed_by"],
        "replaces": record["replaces"],
        "check_url": record["check_url"],
        "qr": mark_safe(
            qr_svg(
                record["check_url"],
                title=f"QR code that leads to {record['check_url']}, where this record is checked",
            )
        ),
    }


def _range(record: Mapping[str, Any]) -> dict[str, Any] | None:
    """The record's range with its numbers tied to their units; None where it states none.

    ``confirmed`` is the rule of continuity in brief, for the certificate.
    """
    stated, rules = record.get("range"), rules_in(record["standard"])
    if stated is None:
        return None
    return {
        "confirmed": continuity_brief(rules.continuity if rules else None),
        "basis": stated["basis"],
        "continuity": tied(stated["continuity"]),
        "renewal": tied(stated["renewal"]),
        "rows": [{name: tied(text) for name, text in row.items()} for row in stated["rows"]],
    }


def name_size(name: str) -> str:
    """The step of size for a name, by the columns that it takes.

    A letter of East Asian width takes two (Unicode Standard Annex 11), a mark that stands on
    another letter takes none.
    """
    columns = sum(
        2 if unicodedata.east_asian_width(letter) in "WF" else 1
        for letter in unicodedata.normalize("NFC", name)
        if unicodedata.category(letter) not in COMBINING
    )
    for most, size in NAME_STEPS:
        if columns <= most:
            return size
    return SMALLEST_NAME
