"""What the paper of a submittal says, ready to print, from its document."""

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.utils.safestring import mark_safe

from certificates.queries.qualified import told_tone, tone_of
from certificates.rendering.wording import say_date, say_instant, say_period, tied
from training.documents.qr import qr_svg

Document = Mapping[str, Any]
NO_END = "no end date"


def facts_of(document: Document) -> dict[str, Any]:
    """Return the texts of a ``bankermark/submittal/1`` document; KeyError where one is missing."""
    project = document["project"]
    return {
        "number": document["number"],
        "project": project,
        "period": say_period(project["starts_on"], project["ends_on"]),
        "contractor": document["contractor"],
        "owner": document["owner"],
        "day": say_date(document["day"]),
        "submitted": say_instant(document["submitted_at"]),
        "submitted_on": say_date(document["submitted_at"]),
        "submitted_by": document["submitted_by"],
        "summary": summary(document),
        "coverage": [
            {"days": _days(row), "places": row["places"], "filled": row["filled"]}
            for row in document["coverage"]
        ],
        "posts": [_post(post) for post in document["posts"]],
        "gaps": [
            {**gap, "days": [_days(span) for span in gap["spans"]]} for gap in document["gaps"]
        ],
    }


def summary(document: Document) -> str:
    """Return the whole in a sentence: whether every place is filled, and if not, from when on."""
    broken = document["first_break"]
    if broken is None:
        return "Every place is filled by a qualified mason on every day."
    return str(broken["sentence"])


def numbers_in(document: Document) -> list[tuple[str, str]]:
    """Return number and holder of each record that a document names, by holder."""
    named = {
        (row["number"], row["holder"]) for post in document["posts"] for row in post["covered_by"]
    }
    return sorted(named, key=lambda each: (each[1].casefold(), each[0]))


def _post(post: Document) -> dict[str, Any]:
    return {
        **post,
        "period": say_period(post["starts_on"], post["ends_on"]),
        "asks": [f"{row['title']}: {tied(row['asks'])}" for row in post["needs"]],
        "rows": [_row(row) for row in post["covered_by"]],
    }


def _row(row: Document) -> dict[str, Any]:
    _, _, word = tone_of(row["word"])
    return {
        **row,
        "days": [_days(span) for span in row["spans"]],
        "covers": [f"{each['title']}: {tied(each['covers'])}" for each in row["range"]],
        "until": say_date(row["valid_until"]) if row["valid_until"] else NO_END,
        "confirm": say_date(row["confirm_by"]) if row["confirm_by"] else "",
        "state": word,
        "qr": mark_safe(
            qr_svg(
                row["check_url"],
                title=f"QR code that leads to {row['check_url']}, where this record is checked",
            )
        ),
    }


def _days(span: Document) -> str:
    return say_period(span["first"], span["last"])


def shown(document: Document) -> list[dict[str, Any]]:
    """Return the posts of a document, or of one that is not signed yet, as a page shows them."""
    return [
        {
            **post,
            "first": date.fromisoformat(post["starts_on"]),
            "last": date.fromisoformat(post["ends_on"]),
            "rows": [_shown(row) for row in post["covered_by"]],
        }
        for post in document["posts"]
    ]


def _shown(row: Document) -> dict[str, Any]:
    tone, shape, word = told_tone(tone_of(row["word"]))
    return {
        **row,
        "state": {"tone": tone, "shape": shape, "word": word},
        "days": [
            (date.fromisoformat(span["first"]), date.fromisoformat(span["last"]))
            for span in row["spans"]
        ],
        "until": date.fromisoformat(row["valid_until"]) if row["valid_until"] else None,
        "confirm": date.fromisoformat(row["confirm_by"]) if row["confirm_by"] else None,
    }
