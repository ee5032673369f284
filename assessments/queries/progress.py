"""How trainees come on: practice pieces and attempts in time, by the outcomes of the standard.

Shares are exact and made of what was observed alone: an outcome of which three criteria were seen
has the share of these three, and the page says that there were three. For an attempt on which all
was observed it is the engine's own score of the outcome.
"""

import dataclasses
import uuid
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from fractions import Fraction
from typing import Any

from django.utils import timezone

from assessments.engine.judge import judge_value
from assessments.engine.numbers import Exact, exact
from assessments.engine.rule import combine
from assessments.engine.standard import Criterion, PassRule, Standard, load_standard
from assessments.models import Attempt, Decision, PracticePiece, PracticeScore, SealedStandard
from training.models import CourseRun, Enrolment
from training.site_time import zone_of

PIECE, ATTEMPT = "piece", "attempt"
# Results that say something of the work, and those of them that say it is not done yet.
LACKING = frozenset({"not_met", "within_guard_band", "disagreed"})
SEEN = LACKING | {"met", "not_applicable"}


@dataclass(frozen=True)
class Share:
    """What was reached of an outcome, 0 to 1; None where nothing of it was seen.

    ``counted`` criteria stand behind it, of ``all`` that the standard has for the outcome.
    """

    value: Fraction | None
    counted: int
    all: int


@dataclass(frozen=True)
class Point:
    """A practice piece or a decided attempt: when, and what it came to.

    ``shares`` are by the outcome's key, ``results`` by the criterion's. ``current``: it was
    scored under the standard that holds now.
    """

    kind: str
    id: uuid.UUID
    title: str
    number: int
    day: date
    at: datetime
    shares: Mapping[str, Share]
    results: Mapping[str, str]
    current: bool


@dataclass(frozen=True)
class Line:
    """One outcome of one trainee: the standard's minimum and the points that have a share."""

    key: str
    statement: str
    minimum: Exact | None
    points: Sequence[tuple[Point, Share]]

    @property
    def latest(self) -> Share | None:
        """The share of the last point; None before there is any."""
        return self.points[-1][1] if self.points else None

    @property
    def word(self) -> str:
        """``met``, ``not_yet_met``, ``seen`` where the standard has no minimum, or ``none``."""
        if self.latest is None or self.latest.value is None:
            return "none"
        if self.minimum is None:
            return "seen"
        return "met" if self.latest.value >= self.minimum else "not_yet_met"


@dataclass(frozen=True)
class Progress:
    """A trainee of a run; ``results`` are what was seen last of each criterion of the standard."""

    enrolment: Enrolment
    points: Sequence[Point]
    lines: Sequence[Line]
    results: Mapping[str, str]
    met: bool


@dataclass(frozen=True)
class Cohort:
    """The standard that holds now (None before one is sealed), and who is enrolled, by name."""

    sealed: SealedStandard | None
    standard: Standard | None
    rows: Sequence[Progress]


def progress_of(enrolment: Enrolment) -> Cohort:
    """Return how one trainee comes on, as a cohort of one (four queries)."""
    return _cohort(enrolment.run, [enrolment])


def progress_of_run(run: CourseRun) -> Cohort:
    """Return how everybody enrolled on a run comes on (five queries)."""
    rows = run.enrolments.filter(state=Enrolment.State.ENROLLED).select_related("person")
    return _cohort(run, list(rows.order_by("person__full_name", "pk")))


def _cohort(run: CourseRun, enrolments: Sequence[Enrolment]) -> Cohort:
    sealed = {
        row.pk: row
        for row in SealedStandard.objects.filter(program=run.program_id).order_by("serial")
    }
    if not sealed:
        return Cohort(None, None, [_progress(each, [], None) for each in enrolments])
    newest = list(sealed.values())[-1]
    read = _Reader(sealed, newest.pk)
    keys = [each.pk for each in enrolments]
    points: dict[uuid.UUID, list[Point]] = {}
    met: set[uuid.UUID] = set()
    for enrolment, point, result in (*_attempts(run, keys, read), *_pieces(keys, read)):
        points.setdefault(enrolment, []).append(point)
        if result == Decision.Result.MET:
            met.add(enrolment)
    standard = read.standard(newest.pk)
    rows = [
        dataclasses.replace(_progress(each, points.get(each.pk, ()), standard), met=each.pk in met)
        for each in enrolments
    ]
    return Cohort(newest, standard, rows)


def _progress(enrolment: Enrolment, points: Iterable[Point], standard: Standard | None) -> Progress:
    ordered = sorted(points, key=lambda each: (each.day, each.at))
    results: dict[str, str] = {}
    for point in ordered:
        # What another standard calls by the same key may be something else.
        results |= point.results if point.current else {}
    lines = [
        Line(
            outcome.key,
            outcome.statement,
            outcome.minimum,
            [
                (point, share)
                for point in ordered
                if (share := point.shares.get(outcome.key)) and share.value is not None
            ],
        )
        for outcome in (standard.outcomes if standard else ())
    ]
    return Progress(enrolment, ordered, lines, results, met=False)


class _Reader:
    """Standards read once each, and shares by their weights."""

    def __init__(self, sealed: Mapping[uuid.UUID, SealedStandard], newest: uuid.UUID) -> None:
        self.sealed = sealed
        self.newest = newest
        self.loaded: dict[uuid.UUID, Standard] = {}
        self.alone: dict[uuid.UUID, PassRule] = {}

    def standard(self, pk: uuid.UUID) -> Standard:
        """Return the standard, read."""
        if pk not in self.loaded:
            loaded = self.loaded[pk] = load_standard(self.sealed[pk].document)
            # What one person saw counts here, however many a decision would need.
            self.alone[pk] = dataclasses.replace(loaded.pass_rule, required=1)
        return self.loaded[pk]

    def shares(self, pk: uuid.UUID, scores: Mapping[str, Exact | None]) -> dict[str, Share]:
        """Return the share of each outcome from scores by criterion; None does not count."""
        standard = self.standard(pk)
        found = {}
        for outcome, group in zip(standard.outcomes, standard.by_outcome, strict=True):
            # Whole numbers stay whole: fractions are several times slower.
            total: Exact = 0
            weights, counted = 0, 0
            for position, weight, _ in group.parts:
                score = scores.get(standard.criteria[position].key)
                if score is not None:
                    total += weight * score
                    weights += weight
                    counted += 1
            value = Fraction(total) / weights if weights else None
            found[outcome.key] = Share(value, counted, len(group.parts))
        return found


Found = tuple[uuid.UUID, Point, str]


def _attempts(run: CourseRun, enrolments: list[uuid.UUID], read: _Reader) -> Iterable[Found]:
    """Give the decided attempts by their decisions that count; void ones tell nothing."""
    zone = zone_of(run.site)
    rows = Decision.objects.filter(
        attempt__enrolment__in=enrolments,
        attempt__state=Attempt.State.DECIDED,
        replaced_by__isnull=True,
    ).order_by("attempt__number")
    for pk, enrolment, standard, number, at, result, criteria in rows.values_list(
        "attempt",
        "attempt__enrolment",
        "attempt__standard",
        "attempt__number",
        "attempt__started_at",
        "result",
        "document__criteria",
    ):
        scores = {
            each["key"]: None if each["score"] is None else exact(each["score"])
            for each in criteria
        }
        point = Point(
            kind=ATTEMPT,
            id=pk,
            title="",
            number=number,
            day=timezone.localdate(at, zone),
            at=at,
            shares=read.shares(standard, scores),
            results={each["key"]: each["result"] for each in criteria if each["result"] in SEEN},
            current=standard == read.newest,
        )
        yield enrolment, point, result


def _pieces(enrolments: list[uuid.UUID], read: _Reader) -> Iterable[Found]:
    """Give the practice pieces (two queries)."""
    given: dict[uuid.UUID, dict[str, Any]] = {}
    scores = PracticeScore.objects.filter(
        piece__enrolment__in=enrolments, replaced_by__isnull=True
    ).order_by()
    for piece_id, key, value in scores.values_list("piece", "criterion", "value"):
        given.setdefault(piece_id, {})[key] = value
    for piece in PracticePiece.objects.filter(enrolment__in=enrolments):
        standard = read.standard(piece.standard_id)
        judged = {
            key: _judged(standard.criterion(key), value, read.alone[piece.standard_id])
            for key, value in given.get(piece.pk, {}).items()
        }
        point = Point(
            kind=PIECE,
            id=piece.pk,
            title=piece.title,
            number=0,
            day=piece.made_on,
            at=piece.recorded_at,
            shares=read.shares(
                piece.standard_id, {key: score for key, (_, score) in judged.items()}
            ),
            # What was taken back is as if it had never been seen.
            results={key: word for key, (word, _) in judged.items() if word in SEEN},
            current=piece.standard_id == read.newest,
        )
        yield piece.enrolment_id, point, ""


def _judged(
    criterion: Criterion, value: dict[str, Any], rule: PassRule
) -> tuple[str, Exact | None]:
    found = combine(criterion, [judge_value(criterion, value)], rule)
    return found.result, found.low
