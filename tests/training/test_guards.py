"""What the database refuses by itself, whatever the code says: each named constraint fires."""

from collections.abc import Callable
from datetime import date

import pytest
from django.apps import apps
from django.db import IntegrityError, models, transaction

from tests.factories import make_organisation, make_person, make_program, make_run
from tests.training.passwordless.guards import BREAK_WAYS_IN
from tests.training.test_course_guards import BREAK as BREAK_COURSE
from tests.training.yard import Yard
from training.models import (
    CourseRun,
    Employment,
    EmploymentOffer,
    Enrolment,
    LogEntry,
    Module,
    Organisation,
    Outcome,
    Person,
    Pin,
    Program,
    Role,
    Site,
)

D = "a" * 64


def outcome(yard: Yard, **fields: object) -> Outcome:
    """Save an outcome O1 at position 1."""
    return Outcome.objects.create(**{"program": yard.program, "position": 1, "key": "O1", **fields})


def module(yard: Yard, **fields: object) -> Module:
    """Save a module M1 at position 1."""
    values = {"program": yard.program, "position": 1, "key": "M1", "kind": "lecture", "minutes": 9}
    return Module.objects.create(**{**values, **fields})


def entry(**fields: object) -> LogEntry:
    """Save a log row past the action that writes them."""
    values = {"seq": 1, "at": "2026-11-02T08:00Z", "verb": "v", "previous": "0" * 64, "digest": D}
    return LogEntry.objects.create(**{**values, **fields})


def offer(yard: Yard, **fields: object) -> EmploymentOffer:
    """Save an offer of the other firm to the trainee."""
    values = {
        "organisation": yard.other_firm,
        "person": yard.trainee,
        "since": "2026-12-01",
        "offered_by": yard.lead,
    }
    return EmploymentOffer.objects.create(**{**values, **fields})


BREAK: dict[str, Callable[[Yard], object]] = {
    "organisation_kind_known": lambda y: make_organisation("guild"),
    "organisation_name_given": lambda y: Organisation.objects.create(kind="owner", name=""),
    "organisation_name_once_a_kind": lambda y: Organisation.objects.create(
        kind="contractor", name=y.firm.name.upper()
    ),
    "person_email_lower": lambda y: Person.objects.create(email="Ada@example.org", full_name="A"),
    "person_name_given": lambda y: Person.objects.create(email="ada@example.org", full_name=""),
    "person_language_known": lambda y: Person.objects.filter(pk=y.lead.pk).update(language="xx"),
    "person_lengths_known": lambda y: Person.objects.filter(pk=y.lead.pk).update(lengths="ft"),
    "pin_hashed": lambda y: Pin.objects.create(person=y.lead, hashed=""),
    "role_kind_known": lambda y: Role.objects.create(
        person=y.trainee, organisation=y.firm, kind="guest"
    ),
    "role_held_once": lambda y: Role.objects.create(
        person=y.lead, organisation=y.provider, kind="lead"
    ),
    "employment_ends_after_start": lambda y: Employment.objects.create(
        person=y.stranger, organisation=y.firm, since="2026-11-02", until="2026-11-01"
    ),
    "employment_current_once": lambda y: Employment.objects.create(
        person=y.trainee, organisation=y.other_firm, since="2026-11-02"
    ),
    "offer_state_known": lambda y: offer(y, state="lost", answered_at="2026-11-02T08:00Z"),
    "offer_answered_with_time": lambda y: offer(y, state="accepted"),
    "offer_waiting_once": lambda y: (offer(y), offer(y)),
    "program_version_once": lambda y: make_program(y.provider, code=y.program.code),
    "program_code_plain": lambda y: make_program(y.provider, code="dutchman"),
    "program_version_from_one": lambda y: make_program(y.provider, version=0),
    "program_unit_known": lambda y: make_program(y.provider, unit="ft"),
    "program_validity_positive": lambda y: make_program(y.provider, validity_months=0),
    "outcome_key_once": lambda y: (outcome(y), outcome(y, position=2)),
    "outcome_position_once": lambda y: (outcome(y), outcome(y, key="O2")),
    "module_key_once": lambda y: (module(y), module(y, position=2)),
    "module_position_once": lambda y: (module(y), module(y, key="M2")),
    "module_kind_known": lambda y: module(y, kind="film"),
    "module_minutes_positive": lambda y: module(y, minutes=0),
    "site_name_once_a_provider": lambda y: Site.objects.create(
        provider=y.provider, name=y.run.site.name, time_zone="UTC"
    ),
    "site_name_given": lambda y: Site.objects.create(provider=y.provider, name="", time_zone="UTC"),
    "run_state_known": lambda y: make_run(y.program, state="over"),
    "run_ends_after_start": lambda y: make_run(y.program, ends_on=date(2026, 11, 1)),
    "run_holds_somebody": lambda y: make_run(y.program, capacity=0),
    "enrolment_once_a_run": lambda y: Enrolment.objects.create(run=y.run, person=y.trainee),
    "enrolment_state_known": lambda y: Enrolment.objects.create(
        run=y.run, person=y.stranger, state="lost"
    ),
    "log_seq_from_one": lambda y: entry(seq=0),
    "log_digest_form": lambda y: entry(digest="A" * 64),
    "log_previous_form": lambda y: entry(previous="a" * 63),
    **BREAK_WAYS_IN,
}


@pytest.mark.parametrize("name", BREAK)
def test_each_named_constraint_fires(yard: Yard, name: str) -> None:
    with pytest.raises(IntegrityError, match=f'"{name}"'), transaction.atomic():
        BREAK[name](yard)


def test_no_constraint_is_left_out() -> None:
    named = {
        constraint.name
        for model in apps.get_app_config("training").get_models()
        for constraint in model._meta.constraints
    }
    assert named == set(BREAK) | set(BREAK_COURSE)


def test_every_state_and_kind_column_has_a_check() -> None:
    columns = {
        f"{model._meta.model_name}.{field.name}"
        for model in apps.get_app_config("training").get_models()
        for field in model._meta.get_fields()
        if isinstance(field, models.CharField) and field.choices
    }
    assert columns == {
        "organisation.kind",
        "person.language",
        "person.lengths",
        "place.kind",
        "session.state",
        "role.kind",
        "program.unit",
        "programprerequisite.applies",
        "module.kind",
        "attendance.how",
        "attendance.kind",
        "complaint.kind",
        "complaint.state",
        "consent.kind",
        "courserun.state",
        "employmentoffer.state",
        "enrolment.state",
    }


def test_an_address_belongs_to_one_person(yard: Yard) -> None:
    with pytest.raises(IntegrityError, match="email"), transaction.atomic():
        make_person(email=yard.trainee.email.upper())


def test_what_others_rest_on_is_not_deleted(yard: Yard) -> None:
    for kept in (yard.trainee, yard.run, yard.provider, yard.program, yard.run.site):
        with pytest.raises(models.ProtectedError):
            kept.delete()
    assert CourseRun.objects.filter(pk=yard.run.pk).exists()
    assert Program.objects.filter(pk=yard.program.pk).exists()
