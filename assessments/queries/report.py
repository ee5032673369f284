"""A decision laid out for reading: stage by stage, what was needed and what was seen.

The sentences are the engine's, in the reader's language and lengths (``assessments/lengths.py``).
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _

from assessments.engine.kinds import Measured
from assessments.engine.numberline import figures
from assessments.engine.standard import Standard, load_standard
from assessments.lengths import told
from assessments.models import Photo
from assessments.queries.logged import Logged, Shown
from assessments.queries.site.photos import Photos
from assessments.sentences import with_limits
from assessments.subjects import CRITERION, HOLD_POINT
from training.models import Person

DECISIVE = 3


@dataclass(frozen=True)
class Seen:
    """What one assessor saw on one criterion; ``figures`` of a measured one, else None.

    ``by`` says who saw it, for a page; empty where the name is gone.
    """

    assessor_id: str
    assessor: str
    result: str
    score: str | None
    sentence: str
    note: str
    figures: dict[str, Any] | None
    by: str


@dataclass(frozen=True)
class CriterionReport:
    """A criterion as the standard has it, what it came to, what each assessor saw; photographs.

    ``sentence`` says what it came to; ``needed`` is the criterion with its limits worked out.
    ``logged`` is what the site log shows of it.
    """

    criterion: Mapping[str, Any]
    needed: Mapping[str, Any]
    found: Mapping[str, Any]
    sentence: str
    seen: list[Seen]
    photos: Sequence[Photo] = ()
    logged: Sequence[Shown] = ()


@dataclass(frozen=True)
class StageReport:
    """A stage with its criteria; ``hold`` says how its hold point stands, if it has one.

    ``photos`` and ``logged`` are those of the hold point.
    """

    title: str
    hold: str
    criteria: list[CriterionReport]
    photos: Sequence[Photo] = ()
    logged: Sequence[Shown] = ()


@dataclass(frozen=True)
class OutcomeReport:
    """An outcome with its score (exact text, None if not scored), minimum and whether met."""

    key: str
    statement: str
    score: str | None
    minimum: str | None
    met: bool | None


@dataclass(frozen=True)
class Report:
    """Everything that a page shows of a decision document; ``reasons`` are the engine's."""

    document: Mapping[str, Any]
    outcomes: list[OutcomeReport]
    stages: list[StageReport]
    reasons: list[str]
    practice: list[str]
    steps: list[str]

    @property
    def decisive(self) -> list[str]:
        """The two or three things that decided the result."""
        return self.reasons[:DECISIVE]

    @property
    def further(self) -> list[str]:
        """What else the engine names as a reason."""
        return self.reasons[DECISIVE:]


def report(
    standard: Mapping[str, Any],
    decision: Mapping[str, Any],
    observations: Mapping[str, Any],
    photos: Photos | None = None,
    logged: Logged | None = None,
    loaded: Standard | None = None,
) -> Report:
    """Lay out three documents that belong together (one query, for the assessors' names).

    ``photos``, and ``logged`` of the site log, are put beside what they show. ``loaded`` is the
    standard as read before, where it was.
    """
    shown: Photos = photos or {}
    notes: Logged = logged or {}
    loaded = loaded or load_standard(standard)
    plain = _teller(standard)
    current = _current(observations["observations"])
    names = _names(row["assessor"] for row in current.values())
    criteria = {row["key"]: row for row in decision["criteria"]}
    stages = [
        StageReport(
            title=stage["title"],
            hold=plain(_hold(decision, stage["key"])),
            criteria=[
                CriterionReport(
                    row,
                    _needed(loaded, row),
                    criteria[row["key"]],
                    told(criteria[row["key"]]["sentence"]),
                    _seen(loaded, row["key"], criteria[row["key"]], current, names),
                    shown.get((CRITERION, row["key"]), ()),
                    notes.get((CRITERION, row["key"]), ()),
                )
                for row in standard["criteria"]
                if row["stage"] == stage["key"]
            ],
            photos=shown.get((HOLD_POINT, stage["key"]), ()),
            logged=notes.get((HOLD_POINT, stage["key"]), ()),
        )
        for stage in standard["stages"]
    ]
    return Report(
        document=decision,
        outcomes=_outcomes(standard, decision),
        stages=stages,
        reasons=[plain(each) for each in decision["reasons"]],
        practice=[plain(each["sentence"]) for each in decision["practice"]],
        steps=[plain(each["sentence"]) for each in decision["trace"]],
    )


def _teller(standard: Mapping[str, Any]) -> Callable[[str], str]:
    """Return what tells a sentence of the engine without the keys that stand beside titles."""
    holds = [
        (f"Hold point {row['key']} ", f"Hold point “{row['title']}” ") for row in standard["stages"]
    ]
    # A title with a length or a number in it is told anew with the sentence.
    titles = [
        (f"{row['key']}, {title}", title)
        for row in (*standard["criteria"], *standard["stages"])
        for title in {row["title"], told(row["title"])}
    ]

    def plain(sentence: str) -> str:
        for named, title in holds:
            sentence = sentence.replace(named, title)
        sentence = told(sentence)
        for named, title in titles:
            sentence = sentence.replace(named, title)
        return sentence

    return plain


def _needed(standard: Standard, row: Mapping[str, Any]) -> Mapping[str, Any]:
    """Return a criterion with the formulas of its limits worked out."""
    criterion = standard.criterion(row["key"])
    return with_limits(row, figures(criterion)) if isinstance(criterion.rule, Measured) else row


def _current(rows: Iterable[Mapping[str, Any]]) -> dict[tuple[str, str], Mapping[str, Any]]:
    """Return the criterion observations that nothing replaces, by (key, assessor)."""
    listed = list(rows)
    replaced = {row["replaces"] for row in listed}
    return {
        (row["subject"]["key"], row["assessor"]): row
        for row in listed
        if row["id"] not in replaced and row["subject"]["kind"] == "criterion"
    }


def _names(ids: Iterable[str]) -> dict[str, str]:
    people = Person.objects.filter(pk__in={int(each) for each in ids}).order_by()
    return {str(pk): name for pk, name in people.values_list("pk", "full_name")}


def _seen(
    standard: Standard,
    key: str,
    found: Mapping[str, Any],
    current: Mapping[tuple[str, str], Mapping[str, Any]],
    names: Mapping[str, str],
) -> list[Seen]:
    criterion = standard.criterion(key)
    seen = []
    for each in found["assessors"]:
        row = current[(key, each["assessor"])]
        drawn = None
        if criterion.rule.kind == "measured" and "readings" in row["value"]:
            drawn = figures(criterion, row["value"])
        name = names.get(each["assessor"], "")
        seen.append(
            Seen(
                assessor_id=each["assessor"],
                assessor=name,
                result=each["result"],
                score=each["score"],
                sentence=told(each["sentence"]),
                note=row["note"],
                figures=drawn,
                by=_("Seen by {name}.").format(name=name) if name else "",
            )
        )
    return seen


def _hold(decision: Mapping[str, Any], stage: str) -> str:
    return next(
        (
            step["sentence"]
            for step in decision["trace"]
            if step["rule"] == "hold_point" and step["inputs"]["stage"] == stage
        ),
        "",
    )


def _outcomes(standard: Mapping[str, Any], decision: Mapping[str, Any]) -> list[OutcomeReport]:
    found = {row["key"]: row for row in decision["outcomes"]}
    return [
        OutcomeReport(
            key=row["key"],
            statement=row["statement"],
            score=found[row["key"]]["score"],
            minimum=row["minimum"],
            met=found[row["key"]]["met"],
        )
        for row in standard["outcomes"]
    ]
