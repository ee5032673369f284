"""Enrolling one by one, and withdrawing."""

import pytest
from django.core.exceptions import PermissionDenied

from tests.factories import make_organisation, make_run
from tests.training.yard import Yard
from training.actions.enrolments import enrol_person, withdraw_enrolment
from training.actions.runs import close_run
from training.errors import Refused
from training.models import Employment, Enrolment, LogEntry, Organisation, Person


def enrol_ada(yard: Yard, **changes: object) -> Enrolment:
    """Enrol somebody new on the yard's run."""
    values: dict[str, object] = {
        "actor": yard.lead,
        "run": yard.run,
        "full_name": "Ada  Stone",
        "email": "Ada@Example.org",
        "employer": yard.firm,
        **changes,
    }
    return enrol_person(**values)  # type: ignore[arg-type]


def test_a_new_person_is_made_known(yard: Yard) -> None:
    enrolment = enrol_ada(yard)
    person = Person.objects.get(email="ada@example.org")
    assert (enrolment.person, enrolment.run, enrolment.employer) == (person, yard.run, yard.firm)
    assert (person.full_name, person.has_usable_password()) == ("Ada Stone", False)
    assert Employment.objects.get(person=person).organisation == yard.firm
    row = LogEntry.objects.get()
    assert (row.verb, row.actor, row.subject_id) == (
        "enrolment.made",
        yard.lead,
        str(enrolment.pk),
    )
    assert row.data == {"run": str(yard.run.pk), "person": person.pk, "employer": yard.firm.pk}


@pytest.mark.parametrize("typed", ["ada@example.org", "ADA@EXAMPLE.ORG", " Ada@example.org "])
def test_a_known_person_is_found_in_whatever_case(yard: Yard, typed: str) -> None:
    ada = Person.objects.create_user("ada@example.org", "Ada Stone")
    assert enrol_ada(yard, email=typed, full_name="ADA stone").person == ada
    ada.refresh_from_db()
    assert ada.full_name == "Ada Stone"
    assert Person.objects.filter(email__iexact="ada@example.org").count() == 1


def test_nobody_is_renamed(yard: Yard) -> None:
    Person.objects.create_user("ada@example.org", "Ada Stone")
    with pytest.raises(Refused, match="known as “Ada Stone”") as refused:
        enrol_ada(yard, full_name="Ada Slate")
    assert refused.value.field == "full_name"
    assert not Enrolment.objects.filter(person__email="ada@example.org").exists()


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"full_name": " "}, "full_name"),
        ({"full_name": "Ada\u202eStone"}, "full_name"),
        ({"email": "ada"}, "email"),
        ({"employer": "owner"}, "employer"),
        ({"email": "teacher"}, "email"),
        ({"email": "trainee"}, "email"),
    ],
)
def test_what_is_refused(yard: Yard, change: dict[str, object], field: str) -> None:
    if change.get("employer"):
        change = {"employer": make_organisation("owner")}
    if change.get("email") in ("teacher", "trainee"):
        person = getattr(yard, str(change["email"]))
        change = {"email": person.email, "full_name": person.full_name}
    before = (Person.objects.count(), Enrolment.objects.count())
    with pytest.raises(Refused) as refused:
        enrol_ada(yard, **change)
    assert refused.value.field == field
    assert (Person.objects.count(), Enrolment.objects.count()) == before
    assert not LogEntry.objects.exists()


def test_the_employer_known_first_is_not_changed_by_enrolling(yard: Yard) -> None:
    with pytest.raises(Refused, match=f"known to work for {yard.firm}") as refused:
        enrol_ada(
            yard,
            run=yard.other_run,
            full_name=yard.trainee.full_name,
            email=yard.trainee.email,
            employer=yard.other_firm,
        )
    assert refused.value.field == "employer"
    assert Employment.objects.get(person=yard.trainee).organisation == yard.firm


@pytest.mark.parametrize("employer", [None, "firm"])
def test_the_same_employer_or_none_is_kept(yard: Yard, employer: str | None) -> None:
    firm: Organisation | None = yard.firm if employer else None
    enrolment = enrol_ada(
        yard,
        run=yard.other_run,
        full_name=yard.trainee.full_name,
        email=yard.trainee.email,
        employer=firm,
    )
    assert enrolment.employer == firm
    assert Employment.objects.get(person=yard.trainee).until is None


def test_withdraw_and_enrol_again(yard: Yard) -> None:
    withdraw_enrolment(actor=yard.lead, enrolment=yard.enrolment)
    yard.enrolment.refresh_from_db()
    assert yard.enrolment.state == "withdrawn"
    with pytest.raises(Refused, match="cannot become withdrawn"):
        withdraw_enrolment(actor=yard.lead, enrolment=yard.enrolment)
    again = enrol_ada(
        yard, full_name=yard.trainee.full_name, email=yard.trainee.email, employer=None
    )
    assert (again.pk, again.state, again.employer) == (yard.enrolment.pk, "enrolled", None)
    verbs = list(LogEntry.objects.values_list("verb", flat=True))
    assert verbs == ["enrolment.withdrawn", "enrolment.made"]


def test_a_closed_run_takes_and_loses_nobody(yard: Yard) -> None:
    close_run(actor=yard.lead, run=yard.run)
    with pytest.raises(Refused, match="closed"):
        enrol_ada(yard)
    with pytest.raises(Refused, match="closed"):
        withdraw_enrolment(actor=yard.lead, enrolment=yard.enrolment)


def test_a_planned_run_takes_trainees(yard: Yard) -> None:
    assert enrol_ada(yard, run=make_run(yard.program, state="planned")).pk


@pytest.mark.parametrize("who", ["teacher", "trainee", "manager", "stranger", "foreign lead"])
def test_only_a_lead_of_the_provider_writes(yard: Yard, other_yard: Yard, who: str) -> None:
    person = other_yard.lead if who == "foreign lead" else getattr(yard, who)
    with pytest.raises(PermissionDenied):
        enrol_ada(yard, actor=person)
    with pytest.raises(PermissionDenied):
        withdraw_enrolment(actor=person, enrolment=yard.enrolment)
    assert not Person.objects.filter(email="ada@example.org").exists()
