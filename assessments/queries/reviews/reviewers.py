"""Who may look at a decision again, and why others may not."""

from dataclasses import dataclass
from datetime import date

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from assessments.models import AssessorRequirement, Authorisation, Decision, Observation, Review
from assessments.queries.calibration.authority import may_sign, newest_of_each, site_day
from assessments.queries.reviews.scope import STAFF
from training.models import Person, Role


@dataclass(frozen=True)
class Candidate:
    """Somebody who teaches or leads for the provider; ``why_not`` is empty for who may review."""

    person: Person
    leads: bool
    why_not: str


def candidates(review: Review) -> list[Candidate]:
    """Return who leads or teaches for the provider, by name: who may review first (five queries).

    ``review`` as of queries.reviews.scope.
    """
    attempt = review.attempt
    program = attempt.enrolment.run.program
    roles = Role.objects.filter(organisation=program.provider_id, kind__in=STAFF)
    kinds: dict[int, set[str]] = {}
    people: dict[int, Person] = {}
    for role in roles.select_related("person"):
        kinds.setdefault(role.person_id, set()).add(role.kind)
        people[role.person_id] = role.person
    scored = set(
        Observation.objects.filter(attempt=attempt).order_by().values_list("assessor", flat=True)
    )
    decided = set(
        Decision.objects.filter(attempt=attempt).order_by().values_list("decided_by", flat=True)
    )
    asked = AssessorRequirement.objects.filter(program=attempt.standard.program_id).exists()
    newest = newest_of_each(attempt.standard.program_id) if asked else None
    today = site_day(attempt)
    found = []
    for pk, person in people.items():
        why = _independent(review, person, scored, decided)
        if not why and newest is not None:
            why = _authorised(newest.get(pk), today)
        found.append(Candidate(person, Role.Kind.LEAD in kinds[pk], why))
    return sorted(found, key=lambda each: (bool(each.why_not), each.person.full_name))


def why_not(review: Review, person: Person) -> str:
    """Return why ``person`` cannot look at this decision again; empty for who can."""
    found = next((each for each in candidates(review) if each.person == person), None)
    if found is None:
        return _("{name} neither leads nor teaches for {provider}.").format(
            name=person, provider=review.attempt.enrolment.run.program.provider
        )
    return found.why_not


def _independent(review: Review, person: Person, scored: set[int], decided: set[int]) -> str:
    if person.pk == review.asked_by_id:
        return _("Asked for this review.")
    if person.pk in decided:
        return _("Signed this attempt off.")
    if person.pk in scored:
        return _("Scored something of this attempt.")
    if not person.is_active:
        return _("This account is closed.")
    return ""


def _authorised(newest: Authorisation | None, today: date) -> str:
    if may_sign(newest, today):
        return ""
    if newest is None or not newest.granted or newest.until is None:
        return _("Is not authorised to sign off under this program.")
    return _("The authority to sign off ended on {day}.").format(
        day=date_format(newest.until, "j M Y")
    )
