"""The range of a standard in words, as its pages and every record made under it state it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from assessments.engine.errors import EngineError
from assessments.engine.qualification.cover import range_of
from assessments.engine.qualification.load import load_rules
from assessments.engine.qualification.model import Rules
from assessments.engine.qualification.words import continuity_sentence, renewal_sentence
from assessments.engine.standard.load import load_dimensions


def rules_in(standard: Mapping[str, Any]) -> Rules | None:
    """The rules of a standard's document; None where it has none, as older ones.

    Raises EngineError, with its path in the standard, where they cannot be read.
    """
    about = standard.get("about")
    if not isinstance(about, dict) or "qualification" not in about:
        return None
    dimensions = load_dimensions(standard["dimensions"])
    try:
        return load_rules(
            about["qualification"], dimensions, [stage["key"] for stage in standard["stages"]]
        )
    except EngineError as error:
        raise error.under("about.qualification") from None


def stated_range(standard: Mapping[str, Any]) -> dict[str, Any] | None:
    """{basis, rows, continuity, renewal} of a standard's document, in sentences; None without
    rules. Raises EngineError as ``rules_in``.
    """
    rules = rules_in(standard)
    if rules is None:
        return None
    titles = {stage["key"]: stage["title"] for stage in standard["stages"]}
    return {
        "basis": rules.basis,
        "rows": range_of(rules).rows(),
        "continuity": continuity_sentence(rules.continuity),
        "renewal": renewal_sentence(rules.renewal, titles),
    }
