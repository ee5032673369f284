"""Answers about runs, with nobody's name; and who may still answer."""

import secrets
import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from fractions import Fraction
from zoneinfo import ZoneInfo

from django.db.models import Exists, OuterRef, QuerySet
from django.urls import reverse
from django.utils import timezone
from django.utils.formats import number_format
from django.utils.translation import gettext as _

from training.models import CourseRun, Enrolment, Person, Reaction, ReactionGiven
from training.queries.scope import TRAINEE
from training.queries.todo import Todo, todo_source
from training.reaction_form import HIGHEST, LOWEST, QUESTIONS, SHOWN_FROM, STATEMENTS

ASKED_FOR = timedelta(days=60)  # so long after a run the first page asks for the answers


@dataclass(frozen=True)
class StatementAnswers:
    """A statement and how many chose 1, 2, 3, 4 and 5; ``mean`` is exact, None of no answer."""

    key: str
    words: str
    chosen: tuple[int, ...]

    @property
    def answered(self) -> int:
        """How many chose anything."""
        return sum(self.chosen)

    @property
    def mean(self) -> Fraction | None:
        """The mean of what was chosen."""
        total = sum(place * count for place, count in enumerate(self.chosen, start=LOWEST))
        return Fraction(total, self.answered) if self.answered else None

    @property
    def mean_text(self) -> str:
        """The mean as a page shows it, with two places."""
        # Rounded first: of a float, number_format cuts the places off.
        return "" if self.mean is None else number_format(Decimal(f"{float(self.mean):.2f}"), 2)


@dataclass(frozen=True)
class Reactions:
    """What ``answered`` of ``enrolled`` said about a run.

    ``shown`` is False below the least number of answers; then there are no statements and no
    texts, whoever asks. Texts stand in an order drawn anew each time, without their dates.
    """

    enrolled: int
    answered: int
    statements: list[StatementAnswers]
    texts: list[tuple[str, list[str]]]

    @property
    def shown(self) -> bool:
        """Whether there are enough answers."""
        return self.answered >= SHOWN_FROM


def reactions_by_run(runs: Iterable[CourseRun]) -> dict[uuid.UUID, Reactions]:
    """Return what was answered about each of ``runs`` (two queries, for any number)."""
    keys = [run.pk for run in runs]
    answers: dict[uuid.UUID, list[dict[str, object]]] = {key: [] for key in keys}
    for run, given in Reaction.objects.filter(run__in=keys).values_list("run", "answers"):
        answers[run].append(given)
    enrolled = dict.fromkeys(keys, 0)
    places = Enrolment.objects.filter(run__in=keys, state=Enrolment.State.ENROLLED).order_by()
    for run in places.values_list("run", flat=True):
        enrolled[run] += 1
    return {key: _reactions(enrolled[key], answers[key]) for key in keys}


def reactions_of(run: CourseRun) -> Reactions:
    """Return what was answered about ``run`` (two queries)."""
    return reactions_by_run([run])[run.pk]


def has_answered(enrolment: Enrolment) -> bool:
    """Say whether this place's holder has answered (one query)."""
    return ReactionGiven.objects.filter(enrolment=enrolment).exists()


def may_be_asked(run: CourseRun) -> bool:
    """Say whether the last day of ``run`` has come on its site, or it is closed (no query)."""
    today = timezone.localdate(timezone=ZoneInfo(run.site.time_zone))
    return run.ends_on <= today or run.state == CourseRun.State.CLOSED


def waiting_reactions(person: Person) -> QuerySet[Enrolment]:
    """Return the own places on runs that have ended, about which nothing is answered yet."""
    given = ReactionGiven.objects.filter(enrolment=OuterRef("pk"))
    # A site's day may be one ahead of the server's: each run is asked again by its own clock.
    latest, earliest = timezone.localdate() + timedelta(days=1), timezone.localdate() - ASKED_FOR
    return (
        Enrolment.objects.filter(
            ~Exists(given),
            person=person,
            state=Enrolment.State.ENROLLED,
            run__ends_on__range=(earliest, latest),
        )
        .select_related("run__program", "run__site")
        .order_by("run__ends_on", "pk")
    )


@todo_source
def reactions_to_give(person: Person, roles: frozenset[str]) -> Iterable[Todo]:
    """Ask a trainee about runs that have ended (one query)."""
    if TRAINEE not in roles:
        return
    for enrolment in waiting_reactions(person):
        if may_be_asked(enrolment.run):
            yield Todo(
                _("Say how {title} was for you").format(title=enrolment.run.program.title),
                _("{site}. Ten short answers, without your name.").format(site=enrolment.run.site),
                reverse("reaction_new", args=[enrolment.pk]),
                _("Answer"),
            )


def _reactions(enrolled: int, answers: list[dict[str, object]]) -> Reactions:
    if len(answers) < SHOWN_FROM:
        return Reactions(enrolled, len(answers), [], [])
    statements = [
        StatementAnswers(
            each.key,
            each.words,
            tuple(
                sum(given.get(each.key) == value for given in answers)
                for value in range(LOWEST, HIGHEST + 1)
            ),
        )
        for each in STATEMENTS
    ]
    return Reactions(
        enrolled,
        len(answers),
        statements,
        [(each.words, _texts(answers, each.key)) for each in QUESTIONS],
    )


def _texts(answers: list[dict[str, object]], key: str) -> list[str]:
    """Return the texts in an order that says nothing: not that of arrival."""
    found = [str(given[key]) for given in answers if given.get(key)]
    secrets.SystemRandom().shuffle(found)
    return found
