"""What trainees of runs attained: in total, by outcome and by criterion, from current decisions.

Every figure is a count, or an exact fraction of what the engine decided; nothing is decided here.
"""

import uuid
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from assessments.evaluation.loading import Loaded, Row, exact, load
from training.models import CourseRun, Enrolment


@dataclass(frozen=True)
class OutcomeAttained:
    """An outcome over the decisions under which it was scored.

    ``met`` and ``not_met``: judged against its minimum. ``no_minimum``: the standard sets none.
    ``not_judged``: there is a minimum, but the decision does not judge it (incomplete, open, or
    a rule without minima). ``mean`` of the ``scored`` scores, exact, from 0 to 1; None of none.
    """

    key: str
    statement: str
    met: int
    not_met: int
    no_minimum: int
    not_judged: int
    scored: int
    mean: Fraction | None


@dataclass(frozen=True)
class CriterionAttained:
    """A criterion over the decisions; ``open``: missing, blocked, in the guard band, or disagreed.

    ``mean`` of the ``scored`` scores, exact, from 0 to 1; None of none.
    """

    key: str
    title: str
    met: int
    not_met: int
    not_applicable: int
    open: int
    scored: int
    mean: Fraction | None


@dataclass(frozen=True)
class Attainment:
    """How many of the ``enrolled`` stand where; ``withdrawn`` ones count nowhere else.

    ``assessed`` are those with a decision: met, not yet met or incomplete. ``open`` are being
    assessed and nothing is decided yet, ``none`` have not begun. A person on two of the runs
    counts on each. Outcomes and criteria with the same key but other words are told apart.
    """

    enrolled: int = 0
    withdrawn: int = 0
    met: int = 0
    not_yet_met: int = 0
    incomplete: int = 0
    open: int = 0
    none: int = 0
    outcomes: Sequence[OutcomeAttained] = field(default=())
    criteria: Sequence[CriterionAttained] = field(default=())

    @property
    def assessed(self) -> int:
        """How many have a decision."""
        return self.met + self.not_yet_met + self.incomplete


def attainment(runs: Iterable[CourseRun]) -> Attainment:
    """Return what was attained on all ``runs`` together (five queries at most)."""
    loaded = load(runs)
    return summed(loaded, loaded.rows)


def attainment_by_run(runs: Iterable[CourseRun]) -> dict[uuid.UUID, Attainment]:
    """Return what was attained on each of ``runs`` (five queries at most, for any number)."""
    listed = list(runs)
    loaded = load(listed)
    by_run: dict[uuid.UUID, list[Row]] = {run.pk: [] for run in listed}
    for row in loaded.rows:
        by_run[row.run].append(row)
    return {run: summed(loaded, rows) for run, rows in by_run.items()}


def summed(loaded: Loaded, rows: Sequence[Row]) -> Attainment:
    """Return what ``rows``, some of those loaded, come to."""
    enrolled = [row for row in rows if row.state == Enrolment.State.ENROLLED]
    words = [row.word for row in enrolled]
    return Attainment(
        enrolled=len(enrolled),
        withdrawn=sum(row.state == Enrolment.State.WITHDRAWN for row in rows),
        met=words.count("met"),
        not_yet_met=words.count("not_yet_met"),
        incomplete=words.count("incomplete"),
        open=words.count("open"),
        none=words.count("none"),
        outcomes=_outcomes(loaded, enrolled),
        criteria=_criteria(loaded, enrolled),
    )


@dataclass
class _Tally:
    counts: dict[str, int] = field(default_factory=dict)
    scores: list[Fraction] = field(default_factory=list)

    def add(self, word: str, score: Fraction | None) -> None:
        self.counts[word] = self.counts.get(word, 0) + 1
        if score is not None:
            self.scores.append(score)

    def of(self, word: str) -> int:
        return self.counts.get(word, 0)

    @property
    def mean(self) -> Fraction | None:
        return sum(self.scores, Fraction(0)) / len(self.scores) if self.scores else None


def _outcomes(loaded: Loaded, rows: Sequence[Row]) -> list[OutcomeAttained]:
    tallies: dict[tuple[str, str], _Tally] = {}
    for decided in (row.decided for row in rows if row.decided is not None):
        for each in decided.outcomes:
            name = (each["key"], loaded.statements[decided.standard][each["key"]])
            word = {True: "met", False: "not_met"}.get(each["met"])
            unjudged = "no_minimum" if each["minimum"] is None else "not_judged"
            tallies.setdefault(name, _Tally()).add(word or unjudged, exact(each["score"]))
    return [
        OutcomeAttained(
            key=key,
            statement=statement,
            met=tally.of("met"),
            not_met=tally.of("not_met"),
            no_minimum=tally.of("no_minimum"),
            not_judged=tally.of("not_judged"),
            scored=len(tally.scores),
            mean=tally.mean,
        )
        for (key, statement), tally in sorted(tallies.items(), key=lambda each: _order(each[0]))
    ]


def _criteria(loaded: Loaded, rows: Sequence[Row]) -> list[CriterionAttained]:
    tallies: dict[tuple[str, str], _Tally] = {}
    for decided in (row.decided for row in rows if row.decided is not None):
        for each in decided.criteria:
            name = (each["key"], loaded.titles[decided.standard][each["key"]])
            tallies.setdefault(name, _Tally()).add(each["result"], exact(each["score"]))
    closed = ("met", "not_met", "not_applicable")
    return [
        CriterionAttained(
            key=key,
            title=title,
            met=tally.of("met"),
            not_met=tally.of("not_met"),
            not_applicable=tally.of("not_applicable"),
            open=sum(count for word, count in tally.counts.items() if word not in closed),
            scored=len(tally.scores),
            mean=tally.mean,
        )
        for (key, title), tally in sorted(tallies.items(), key=lambda each: _order(each[0]))
    ]


def _order(name: tuple[str, str]) -> tuple[str, int, str]:
    """Sort O2 before O10: the letters of a key, then its number.

    >>> sorted([("O10", ""), ("O2", "")], key=_order)
    [('O2', ''), ('O10', '')]
    """
    key, words = name
    letters = key.rstrip("0123456789")
    return letters, int(key[len(letters) :] or 0), words
