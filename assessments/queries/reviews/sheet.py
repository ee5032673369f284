"""What a reviewer scores without knowing the earlier scores, and the two side by side after."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from assessments.engine import decide
from assessments.engine.kinds import CriterionResult
from assessments.engine.standard import Standard, load_standard
from assessments.models import Photo, Review, ReviewScore
from assessments.queries.in_order import left_of, line_of, next_of
from assessments.queries.logged import Shown, logged_of
from assessments.queries.reviews.second import (
    READ_ON_SITE,
    Row,
    SecondScore,
    judged,
    standing_rows,
    with_second_scores,
)
from assessments.queries.site.photos import photos_of
from assessments.subjects import CRITERION, Subject, subjects_of
from training.models import Person

UNSCORED, NOT_SHOWN = "unscored", "not_shown"


@dataclass(frozen=True)
class ReviewLine:
    """A criterion, what shows it, and how the reviewer scored it.

    ``given`` are the values read on the piece, of a measured or timed criterion: who took them is
    not told. ``result`` is None before a score, and where the evidence does not show it.
    """

    subject: Subject
    photos: Sequence[Photo]
    logged: Sequence[Shown]
    given: Sequence[Mapping[str, Any]]
    score: ReviewScore | None
    result: CriterionResult | None

    @property
    def word(self) -> str:
        """The result, ``not_shown``, or ``unscored``."""
        if self.score is None:
            return UNSCORED
        return self.result.result if self.result else NOT_SHOWN

    @property
    def done(self) -> bool:
        """Whether nothing is left to say here."""
        return self.score is not None


@dataclass(frozen=True)
class ReviewSheet:
    """Every criterion of the standard in the order of the work."""

    review: Review
    standard: Standard
    lines: Sequence[ReviewLine]

    def line(self, key: str) -> ReviewLine | None:
        """Return the line of a criterion, or None."""
        return line_of(self.lines, key)

    def next_todo(self, after: ReviewLine | None = None) -> ReviewLine | None:
        """Return the next line to score, looking on from ``after`` and then from the start."""
        return next_of(self.lines, after)

    @property
    def todo(self) -> int:
        """How many lines are still to be scored."""
        return left_of(self.lines)


def current_scores(review: Review) -> dict[str, ReviewScore]:
    """Return how the reviewer of now scores, by criterion (one query)."""
    rows = review.scores.filter(by=review.reviewer_id, replaced_by__isnull=True)
    return {row.criterion: row for row in rows}


def given_of(review: Review, subject: Subject) -> list[Mapping[str, Any]]:
    """Return the values read on the piece, each once; nothing of what is judged by eye."""
    if subject.form_kind not in READ_ON_SITE:
        return []
    found: list[Mapping[str, Any]] = []
    for row in standing_rows(review.decision.observations, subject.key):
        if row["value"] not in found:
            found.append(row["value"])
    return found


def review_sheet(review: Review) -> ReviewSheet:
    """Return the sheet of the reviewer (at most five queries); ``review`` as of the scope."""
    document = review.attempt.standard.document
    standard = load_standard(document)
    scores = current_scores(review)
    photos, logged = photos_of(review.attempt), logged_of(review.attempt)
    lines = []
    for subject in subjects_of(document):
        if subject.kind != CRITERION:
            continue
        score, about = scores.get(subject.key), (CRITERION, subject.key)
        result = None
        if score is not None and score.value is not None:
            result = judged(standard, subject.key, score.value)
        lines.append(
            ReviewLine(
                subject,
                photos.get(about, ()),
                logged.get(about, ()),
                given_of(review, subject),
                score,
                result,
            )
        )
    return ReviewSheet(review, standard, lines)


def second_document(review: Review, standard: Standard | None = None) -> dict[str, Any]:
    """Return the observations of the decision with the reviewer's scores in place (one query)."""
    loaded = standard or load_standard(review.attempt.standard.document)
    scores = [
        SecondScore(str(row.pk), row.criterion, str(row.by_id), row.value, row.note)
        for row in current_scores(review).values()
        if row.value is not None
    ]
    # In the order of the work, so that the same scores always make the same document.
    scores.sort(key=lambda each: loaded.positions[each.criterion])
    return with_second_scores(loaded, review.decision.observations, scores)


@dataclass(frozen=True)
class Earlier:
    """What one assessor had found: the name, what it came to, the note."""

    assessor: str
    result: CriterionResult
    note: str


@dataclass(frozen=True)
class Compared:
    """A criterion as the reviewer scored it and as it was scored; ``word`` says how they differ.

    ``same``, ``differs``, ``not_shown`` (the evidence does not show it) or ``new`` (nobody had
    observed it).
    """

    line: ReviewLine
    earlier: Sequence[Earlier]
    word: str


@dataclass(frozen=True)
class Comparison:
    """The two scorings side by side, and what the engine makes of the second one."""

    rows: Sequence[Compared]
    observations: Mapping[str, Any]
    document: Mapping[str, Any]

    @property
    def differing(self) -> int:
        """How many criteria the reviewer scored otherwise."""
        return sum(row.word in ("differs", "new") for row in self.rows)

    @property
    def decides(self) -> bool:
        """Whether the engine comes to a result that can stand."""
        return self.document["result"] in ("met", "not_yet_met")


def comparison(sheet: ReviewSheet) -> Comparison:
    """Return what was scored before beside what the reviewer scored (two queries)."""
    review = sheet.review
    rows = standing_rows(review.decision.observations)
    names = {
        str(person.pk): person.full_name
        for person in Person.objects.filter(pk__in={int(row["assessor"]) for row in rows})
    }
    observations = second_document(review, sheet.standard)
    compared = [
        _compared(
            sheet, line, [row for row in rows if row["subject"]["key"] == line.subject.key], names
        )
        for line in sheet.lines
    ]
    return Comparison(compared, observations, decide(sheet.standard, observations))


def _compared(
    sheet: ReviewSheet, line: ReviewLine, rows: Sequence[Row], names: Mapping[str, str]
) -> Compared:
    earlier = [
        Earlier(
            names.get(row["assessor"], row["assessor"]),
            judged(sheet.standard, line.subject.key, row["value"]),
            row.get("note") or "",
        )
        for row in rows
    ]
    if line.result is None:
        word = NOT_SHOWN
    elif not earlier:
        word = "new"
    else:
        own = (line.result.result, line.result.score)
        same = all((each.result.result, each.result.score) == own for each in earlier)
        word = "same" if same else "differs"
    return Compared(line, earlier, word)
