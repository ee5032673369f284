"""Who may confirm what, and what is refused with a sentence."""

from datetime import date, timedelta

import pytest
from django.core.exceptions import PermissionDenied
from django.utils import timezone

from certificates.actions.continuity import RowsRefused, confirm_many, retract_confirmation
from certificates.actions.status.changes import suspend_record
from certificates.models import Confirmation, Project, Retraction
from tests.assessments.builders import at_once
from tests.certificates.crew.builders import course, crew_member, days_ago, firm, record_for
from tests.certificates.crew.clock import at
from tests.certificates.crew.continuity.conftest import Bench, make_bench
from tests.factories import make_person, make_role
from training.errors import Refused
from training.models import Employment, LogEntry, Organisation, Role

NOW = "2027-02-10T18:00"
WORKED = date(2027, 2, 8)


def test_what_was_signed_is_kept_and_logged(bench: Bench) -> None:
    with at(NOW):
        signed = bench.sign(WORKED, work="  Two  dutchmen set in the sill ")
    assert (signed.attempt, signed.record) == (bench.record.decision.attempt, bench.record)
    assert (signed.worked_on, signed.signed_on) == (WORKED, date(2027, 2, 10))
    assert (signed.organisation, signed.signed_by) == (bench.firm, bench.manager)
    assert (signed.project, signed.work) == (None, "Two dutchmen set in the sill")
    entry = LogEntry.objects.get()
    assert (entry.verb, entry.data["worked_on"]) == ("work.confirmed", "2027-02-08")


@pytest.mark.parametrize("who", ["mason", "lead", "other manager", "stranger", "owner"])
def test_only_the_manager_of_the_employer_of_today(bench: Bench, who: str) -> None:
    actor = {
        "mason": bench.mason,
        "lead": Role.objects.get(kind="lead", organisation=bench.program.provider).person,
        "other manager": firm()[1],
        "stranger": make_person(),
        "owner": make_role("owner", Organisation.objects.create(kind="owner", name="Abbey")),
    }[who]
    with at(NOW), pytest.raises(PermissionDenied):
        bench.sign(WORKED, actor=actor)
    assert not Confirmation.objects.exists()


def test_the_former_employer_signs_no_more(bench: Bench) -> None:
    Employment.objects.update(until=date(2027, 2, 9))
    with at(NOW), pytest.raises(PermissionDenied):
        bench.sign(WORKED)


def test_the_new_employer_signs_only_for_its_own_days(bench: Bench) -> None:
    organisation, manager = firm()
    Employment.objects.update(until=date(2027, 2, 4))
    Employment.objects.create(person=bench.mason, organisation=organisation, since=date(2027, 2, 5))
    with at(NOW):
        with pytest.raises(Refused) as refused:
            bench.sign(date(2027, 2, 4), actor=manager)
        assert refused.value.field == "worked_on"
        assert bench.sign(date(2027, 2, 5), actor=manager).organisation == organisation


def test_nobody_confirms_the_own_work(bench: Bench) -> None:
    Role.objects.create(person=bench.mason, organisation=bench.firm, kind="contractor")
    with at(NOW), pytest.raises(Refused, match="own work"):
        bench.sign(WORKED, actor=bench.mason)
    with at(NOW):
        assert bench.sign(WORKED).signed_by == bench.manager


def test_once_a_day_and_again_after_it_was_taken_back(bench: Bench) -> None:
    with at(NOW):
        first = bench.sign(WORKED)
        with pytest.raises(Refused, match="already") as refused:
            bench.sign(WORKED)
        assert refused.value.field == "worked_on"
        retract_confirmation(
            actor=bench.manager, confirmation=first, reason="It was another mason."
        )
        assert bench.sign(WORKED).pk != first.pk


def test_a_record_that_does_not_stand_is_not_confirmed(bench: Bench) -> None:
    lead = Role.objects.get(kind="lead", organisation=bench.program.provider).person
    with at(NOW):
        suspend_record(actor=lead, record=bench.record, reason="The photographs are doubtful.")
        with pytest.raises(Refused, match="is suspended"):
            bench.sign(WORKED)
        later = record_for(
            bench.mason, bench.program, replaces=bench.record, issued_at=timezone.now()
        )
        with pytest.raises(Refused, match=f"Record {later.number} took the place"):
            bench.sign(WORKED)
        # The correction goes on with the chain: its own day of issue asks for nothing.
        assert bench.sign(WORKED, record=later).attempt == bench.record.decision.attempt


def test_a_program_without_continuity_asks_for_nothing(bench: Bench) -> None:
    record = record_for(bench.mason, course())
    with at(NOW), pytest.raises(Refused, match="none is needed"):
        bench.sign(WORKED, record=record)


def test_the_project_is_one_or_the_other(bench: Bench) -> None:
    def project(contractor: Organisation) -> Project:
        return Project.objects.create(
            contractor=contractor,
            name="Chapel tower",
            time_zone="America/New_York",
            starts_on=date(2027, 1, 1),
            ends_on=date(2027, 12, 31),
            created_by=bench.manager,
        )

    own, foreign = project(bench.firm), project(firm()[0])
    wrong: list[tuple[dict[str, object], str]] = [
        ({"project_name": "  "}, "project_name"),
        ({"project_name": "n" * 201}, "project_name"),
        ({"project": own, "project_name": "Elsewhere"}, "project_name"),
        ({"project": foreign, "project_name": ""}, "project"),
    ]
    with at(NOW):
        for given, field in wrong:
            with pytest.raises(Refused) as refused:
                bench.sign(WORKED, **given)
            assert refused.value.field == field
        signed = bench.sign(WORKED, project=own, project_name="")
    assert (signed.project, signed.project_name) == (own, "Chapel tower")


def test_taking_back_is_for_the_firm_that_signed(bench: Bench) -> None:
    with at("2027-03-30T18:00"):
        signed = bench.sign(date(2027, 3, 29))
        assert bench.held().confirm_by == date(2027, 9, 29)
        for actor in (bench.mason, firm()[1], make_person()):
            with pytest.raises(PermissionDenied):
                retract_confirmation(actor=actor, confirmation=signed, reason="It was not done.")
        with pytest.raises(Refused) as refused:
            retract_confirmation(actor=bench.manager, confirmation=signed, reason="no")
        assert refused.value.field == "reason"
        retract_confirmation(actor=bench.manager, confirmation=signed, reason="Another wall.")
        with pytest.raises(Refused, match="already"):
            retract_confirmation(actor=bench.manager, confirmation=signed, reason="Another wall.")
        assert bench.held().confirm_by == date(2027, 4, 1)
    with at("2027-04-02T18:00"):
        assert bench.held().word == "not_confirmed"
    assert Retraction.objects.get().by == bench.manager


def test_many_are_all_signed_or_none(bench: Bench) -> None:
    others = [
        record_for(
            crew_member(bench.firm, since=since), bench.program, issued_at=bench.record.issued_at
        )
        for since in (date(2026, 1, 5), date(2027, 2, 9))
    ]
    given = {"actor": bench.manager, "worked_on": WORKED, "project_name": "Old granary"}
    with at(NOW):
        with pytest.raises(RowsRefused) as refused:
            confirm_many(records=[bench.record, *others], **given)  # type: ignore[arg-type]
        assert list(refused.value.errors) == [others[1].pk]
        assert "was not employed" in refused.value.errors[others[1].pk]
        assert not Confirmation.objects.exists()
        assert len(confirm_many(records=[bench.record, others[0]], **given)) == 2  # type: ignore[arg-type]
        with pytest.raises(Refused, match="at least one"):
            confirm_many(records=[], **given)  # type: ignore[arg-type]
        with pytest.raises(PermissionDenied):
            confirm_many(records=[bench.record], **{**given, "actor": bench.mason})  # type: ignore[arg-type]


@pytest.mark.django_db(transaction=True)
@pytest.mark.faults
def test_two_managers_at_once_sign_once() -> None:
    bench = make_bench(issued_at=timezone.now() - timedelta(days=40))
    managers = [bench.manager, make_role("contractor", bench.firm)]

    def sign(number: int) -> bool:
        try:
            bench.sign(days_ago(3), actor=managers[number])
        except Refused:
            return False
        return True

    assert sorted(at_once(sign)) == [False, True]
    assert Confirmation.objects.count() == 1
