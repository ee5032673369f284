"""Read ``about.retake`` and ``about.review`` of a standard (FORMATS.md)."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal, cast

from assessments.engine.errors import EngineError
from assessments.engine.fields import at, choice, fields, whole

Scope = Literal["whole", "open_stages"]
SCOPES = ("whole", "open_stages")
MOST_DAYS = 366
MOST_ATTEMPTS = 20


@dataclass(frozen=True, slots=True)
class RetakeRule:
    """An attempt may be made again ``after_days`` from the decision, ``most`` attempts in all.

    ``most`` is None where the program sets no number. With the scope ``open_stages`` the stages
    that were met stand, as far as no stage made again takes them apart.
    """

    after_days: int
    most: int | None
    scope: Scope


@dataclass(frozen=True, slots=True)
class ReviewRule:
    """A review is asked for within so many days of the decision, and answered within so many."""

    ask_within_days: int
    answer_within_days: int


def retake_rule(standard: Mapping[str, Any]) -> RetakeRule | None:
    """The rule of a standard's document, None where it has none; EngineError where unreadable."""
    found = _about(standard, "retake")
    if found is None:
        return None
    with at("about.retake"):
        read = fields(found, ("after_days", "scope"), ("most",))
        most = None if read.get("most") is None else whole(read, "most", 1, MOST_ATTEMPTS)
        return RetakeRule(
            after_days=whole(read, "after_days", 0, MOST_DAYS),
            most=most,
            scope=cast(Scope, choice(read, "scope", SCOPES)),
        )


def review_rule(standard: Mapping[str, Any]) -> ReviewRule | None:
    """The rule of a standard's document, None where it has none; EngineError where unreadable."""
    found = _about(standard, "review")
    if found is None:
        return None
    with at("about.review"):
        read = fields(found, ("ask_within_days", "answer_within_days"))
        return ReviewRule(
            ask_within_days=whole(read, "ask_within_days", 1, MOST_DAYS),
            answer_within_days=whole(read, "answer_within_days", 1, MOST_DAYS),
        )


def _about(standard: Mapping[str, Any], name: str) -> object | None:
    about = standard.get("about")
    if not isinstance(about, dict):
        return None
    found = about.get(name)
    if found is not None and not isinstance(found, dict):
        raise EngineError(f"about.{name}", "Write an object here: {…}.")
    return found
