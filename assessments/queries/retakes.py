"""Whether, when and how an attempt may be made again, and what is arranged for it."""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from assessments.engine.second_look import (
    Again,
    RetakeRule,
    attempts_left,
    earliest_day,
    made_again,
    retake_rule,
)
from assessments.models import Attempt, Decision, Observation, RetakeDay, Review, SealedStandard
from assessments.queries.attempts import Standing, current_decision
from assessments.queries.past import Past
from assessments.queries.standards import sealed_standard
from training.models import CourseRun, Enrolment, Site
from training.queries.fit import day_at


@dataclass(frozen=True)
class Retaking:
    """How an enrolment stands about making an attempt again.

    ``of`` is the latest attempt that counts, ``decision`` its decision. ``again`` says which
    stages would be made again under ``newest``, the standard sealed last. ``day`` is what is
    arranged, None where nothing is. ``made`` attempts count so far; ``left`` is None without a
    number.
    """

    of: Attempt
    decision: Decision
    rule: RetakeRule | None
    earliest: date
    today: date
    made: int
    left: int | None
    met: bool
    open: Attempt | None
    under_review: bool
    again: Again
    newest: SealedStandard
    day: RetakeDay | None

    @property
    def other_standard(self) -> bool:
        """Whether another standard was sealed meanwhile, so that nothing can stand."""
        return self.newest.pk != self.of.standard_id

    @property
    def barred(self) -> str:
        """Why no day helps, in a sentence; empty where the attempt may be made again some day."""
        if self.met:
            return _("The standard is met: nothing is to be made again.")
        if self.open is not None:
            return _("Attempt {number} is open already: go on with that one.").format(
                number=self.open.number
            )
        if self.under_review:
            return _("The result is under review: the attempt can be made again once it is over.")
        if self.left == 0:
            return ngettext(
                "The program allows {count} attempt in all, and it is made. Enrol on another "
                "course run to go on.",
                "The program allows {count} attempts in all, and they are made. Enrol on another "
                "course run to go on.",
                self.made,
            ).format(count=self.made)
        return ""

    @property
    def too_early(self) -> str:
        """Why it cannot begin today though it may later, in a sentence; else empty."""
        if self.today >= self.earliest:
            return ""
        return _("The program asks for practice first: the earliest day is {day}.").format(
            day=date_format(self.earliest)
        )

    @property
    def why_not(self) -> str:
        """Why it cannot begin today, in a sentence; empty where it can."""
        return self.barred or self.too_early


@dataclass(frozen=True)
class StageAgain:
    """A stage with whether it stands; ``hold_point`` as in the standard."""

    key: str
    title: str
    hold_point: bool
    stands: bool


def latest_decided(attempts: Iterable[Attempt]) -> Attempt | None:
    """Return the latest of ``attempts``, which begin with it, that counts and was decided."""
    return next((of for of, _ in _decided(attempts)), None)


def retaking(
    enrolment: Enrolment, past: Past | None = None, decision: Decision | None = None
) -> Retaking | None:
    """Return how the enrolment stands; None while no attempt that counts was decided.

    Void attempts do not count. A constant number of queries; the enrolment's run, program and
    site are read with it. ``past`` and the whole ``decision`` that counts are read where they
    are not given.
    """
    attempts = past.attempts if past else _attempts(enrolment)
    decided = _decided(attempts)
    if not decided:
        return None
    of, known = decided[0]
    decision = decision or known
    # Nearly always the one that the attempt stands under, which is read already.
    newest = enrolment.run.program.standards.order_by("-serial").defer("document").first()
    assert newest is not None  # the attempt stands under one of this program
    if newest.pk == of.standard_id:
        newest = of.standard
    rule = retake_rule(of.standard.document)
    return Retaking(
        of=of,
        decision=decision,
        rule=rule,
        earliest=_earliest(rule, list(of.decisions.all()), decision, enrolment.run.site),
        today=day_at(enrolment.run.site),
        made=len(decided),
        left=attempts_left(rule, len(decided)),
        met=any(each.result == Decision.Result.MET for _, each in decided),
        open=next((each for each in attempts if each.state == Attempt.State.OPEN), None),
        under_review=any(each.state in Review.UNDER_WAY for each in past.reviews)
        if past
        else Review.objects.filter(
            attempt__enrolment=enrolment, state__in=Review.UNDER_WAY
        ).exists(),
        again=_again(rule, of, decision, newest),
        newest=newest,
        day=_day(RetakeDay.objects.filter(attempt__enrolment=enrolment), of),
    )


def stages_of(retake: Retaking) -> list[StageAgain]:
    """Return the stages of the task in working order, each with whether it would stand."""
    return [
        StageAgain(row["key"], row["title"], row["hold_point"], row["key"] in retake.again.carried)
        for row in retake.newest.document["stages"]
    ]


@dataclass(frozen=True)
class RunRetake:
    """What the run's page says of one who may go again: from when, how often, and the day."""

    of: Attempt
    earliest: date
    left: int | None
    day: RetakeDay | None
    under_review: bool


def run_retakes(rows: Iterable[Standing], run: CourseRun) -> dict[UUID, RunRetake]:
    """Return, by enrolment, what is said of those not met yet (three queries)."""
    standards = run.program.standards.order_by().values_list("pk", "document__about")
    rules = {pk: retake_rule({"about": about}) for pk, about in standards}
    days: dict[UUID, list[RetakeDay]] = {}
    arranged = RetakeDay.objects.filter(attempt__enrolment__run=run)
    for day in arranged.select_related("attempt"):
        days.setdefault(day.attempt.enrolment_id, []).append(day)
    reviewed = set(
        Review.objects.filter(attempt__enrolment__run=run, state__in=Review.UNDER_WAY)
        .order_by()
        .values_list("attempt__enrolment", flat=True)
    )
    going = [row for row in rows if row.may_start and row.decision is not None]
    found = {}
    for row in going:
        decided = _decided(row.attempts)
        if not decided:
            continue
        of, decision = decided[0]
        rule = rules[of.standard_id]
        found[row.enrolment.pk] = RunRetake(
            of=of,
            earliest=_earliest(rule, list(of.decisions.all()), decision, run.site),
            left=attempts_left(rule, len(decided)),
            day=_day(days.get(row.enrolment.pk, ()), of),
            under_review=row.enrolment.pk in reviewed,
        )
    return found


def _attempts(enrolment: Enrolment) -> Sequence[Attempt]:
    found = enrolment.attempts.order_by("-number").select_related("standard")
    return list(found.prefetch_related("decisions"))


def _decided(attempts: Iterable[Attempt]) -> list[tuple[Attempt, Decision]]:
    """Return those that count and were decided, each with the decision that nothing replaces."""
    return [
        (each, decision)
        for each in attempts
        if each.state == Attempt.State.DECIDED and (decision := current_decision(each))
    ]


def _earliest(
    rule: RetakeRule | None, decisions: Iterable[Decision], current: Decision, site: Site
) -> date:
    first: datetime = min(each.decided_at for each in decisions)
    day = first.astimezone(ZoneInfo(site.time_zone)).date()
    return earliest_day(rule, day, current.result)


def _day(days: Iterable[RetakeDay], of: Attempt) -> RetakeDay | None:
    """Return the newest day arranged after ``of``, unless it was given up."""
    newest = max(days, key=lambda each: (each.made_at, each.pk), default=None)
    return newest if newest and newest.attempt_id == of.pk and not newest.cancelled else None


def _again(
    rule: RetakeRule | None, of: Attempt, decision: Decision, newest: SealedStandard
) -> Again:
    if rule is None or rule.scope != "open_stages" or newest.pk != of.standard_id:
        return Again()
    standard = sealed_standard(of.standard.document, of.standard.digest)
    scored_anew = _scored_anew(of, decision.observations, of.standard.document)
    return made_again(standard, decision.document, decision.observations, scored_anew)


def _scored_anew(
    of: Attempt, observations: Mapping[str, Any], document: Mapping[str, Any]
) -> Collection[str]:
    """Return the stages in which a review put its own score in the place of an assessor's.

    Nothing of such a stage can be taken over as it was observed, so it is made again.
    """
    stage_of = {row["key"]: row["stage"] for row in document["criteria"]}
    rows = observations["observations"]
    stored = set(Observation.objects.filter(attempt=of).order_by().values_list("pk", flat=True))
    return {
        stage_of.get(row["subject"]["key"], row["subject"]["key"])
        for row in rows
        if UUID(row["id"]) not in stored
    }
