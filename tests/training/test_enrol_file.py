"""Enrolling a whole list: all or nothing, unless the good rows are asked for."""

import pytest
from django.core.exceptions import PermissionDenied
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.training.yard import Yard
from training.actions.enrolfile import FileRefused, enrol_file
from training.actions.enrolments import withdraw_enrolment
from training.actions.runs import close_run
from training.enrolfile import read_table
from training.errors import Refused
from training.models import Employment, Enrolment, LogEntry, Person

HEAD = "full_name,email,employer\n"


def faults_of(yard: Yard, text: str, **options: bool) -> list[tuple[int, str | None, str]]:
    """Enrol, expect it to be refused, and return the faults."""
    before = (Person.objects.count(), Enrolment.objects.count())
    with pytest.raises(FileRefused) as refused:
        enrol_file(actor=yard.lead, run=yard.run, text=text, **options)
    assert (Person.objects.count(), Enrolment.objects.count()) == before
    assert not LogEntry.objects.exists()
    return [(fault.row, fault.column, fault.message) for fault in refused.value.faults]


def test_a_list_is_enrolled(yard: Yard) -> None:
    known = Person.objects.create_user("bo@example.org", "Bo Quarry")
    text = (
        f"{HEAD}Ada Stone,Ada@example.org,{yard.firm.name.upper()}\n"
        f"bo  quarry,BO@example.org,{yard.other_firm}\nCy Slate,cy@example.org,\n"
    )
    result = enrol_file(actor=yard.lead, run=yard.run, text=text)
    assert (result.enrolled, result.rest, result.faults) == (3, "", ())
    enrolled = Enrolment.objects.filter(run=yard.run).exclude(pk=yard.enrolment.pk)
    assert {(row.person.full_name, row.employer) for row in enrolled} == {
        ("Ada Stone", yard.firm),
        ("Bo Quarry", yard.other_firm),
        ("Cy Slate", None),
    }
    assert not Person.objects.get(email="ada@example.org").has_usable_password()
    assert Employment.objects.get(person=known).organisation == yard.other_firm
    row = LogEntry.objects.get()
    assert (row.verb, row.subject_id) == ("enrolment.made_from_list", str(yard.run.pk))
    assert {entry["enrolment"] for entry in row.data["enrolments"]} == {
        str(enrolment.pk) for enrolment in enrolled
    }


def test_all_faults_are_told_and_nobody_is_enrolled(yard: Yard) -> None:
    Person.objects.create_user("bo@example.org", "Bo Quarry")
    firm = yard.firm.name
    text = (
        f"{HEAD}Good One,good@example.org,\n"
        "Bo Quarrie,bo@example.org,\n"
        f"{yard.trainee.full_name},{yard.trainee.email},{yard.other_firm}\n"
        f"{yard.teacher.full_name},{yard.teacher.email},\n"
        f"Cy Slate,cy@example.org,{firm[:-1]}x\n"
        "Di Flint,di,\n"
    )
    told = faults_of(yard, text)
    assert [(row, column) for row, column, _ in told] == [
        (3, "full_name"),
        (4, "email"),
        (4, "employer"),
        (5, "email"),
        (6, "employer"),
        (7, "email"),
    ]
    said = " ".join(message for _, _, message in told)
    for part in ("“Bo Quarry”", "delete this row", f"work for {firm}", "teaches this run", firm):
        assert part in said


def test_the_nearest_contractor_is_suggested(yard: Yard) -> None:
    yard.firm.name = "Quillon & Daughters Stonework"
    yard.firm.save()
    text = f"{HEAD}Cy Slate,cy@example.org,Quillon and Daughters Stonework\n"
    (fault,) = faults_of(yard, text)
    assert "Did you mean “Quillon & Daughters Stonework”?" in fault[2]
    (fault,) = faults_of(yard, f"{HEAD}Cy Slate,cy@example.org,Zzyzx\n")
    assert "Did you mean" not in fault[2]


def test_the_good_rows_only(yard: Yard) -> None:
    text = f'{HEAD}Good One,good@example.org,\n"Stone, B",b(at)x,Kerb\nGood Two,two@example.org,\n'
    result = enrol_file(actor=yard.lead, run=yard.run, text=text, good_only=True)
    assert result.enrolled == 2
    assert [(fault.row, fault.column) for fault in result.faults] == [(2, "email")]
    rest = read_table(result.rest)
    assert list(rest.typed.values()) == [("Stone, B", "b(at)x", "Kerb")]
    assert [fault.row for fault in rest.faults] == [fault.row for fault in result.faults]


@pytest.mark.parametrize(
    "text",
    [
        HEAD + "Nobody,x,\n",
        HEAD + 'Good One,good@example.org,\n"Broken,b@example.org,\nLater,l@example.org,\n',
        "name,email\nGood One,good@example.org\n",
    ],
    ids=["no good row", "reading stopped", "wrong header"],
)
def test_good_rows_are_not_taken_from_a_list_that_cannot_be_read_whole(
    yard: Yard, text: str
) -> None:
    assert faults_of(yard, text, good_only=True)
    with pytest.raises(FileRefused) as refused:
        enrol_file(actor=yard.lead, run=yard.run, text=text)
    assert refused.value.good == 0


def test_a_withdrawn_trainee_comes_back(yard: Yard) -> None:
    withdraw_enrolment(actor=yard.lead, enrolment=yard.enrolment)
    text = f"{HEAD}{yard.trainee.full_name},{yard.trainee.email},{yard.firm}\n"
    assert enrol_file(actor=yard.lead, run=yard.run, text=text).enrolled == 1
    yard.enrolment.refresh_from_db()
    assert (yard.enrolment.state, yard.enrolment.employer) == ("enrolled", yard.firm)
    assert Employment.objects.filter(person=yard.trainee).count() == 1


def test_the_number_of_queries_does_not_grow(yard: Yard) -> None:
    counts = []
    for number in (1, 30):
        rows = "".join(
            f"Mason {'x' * place},m{number}-{place}@example.org,{yard.firm}\n"
            for place in range(1, number + 1)
        )
        with CaptureQueriesContext(
            connection,
        ) as queries:
            enrol_file(actor=yard.lead, run=yard.run, text=HEAD + rows)
        counts.append(len(queries))
    assert counts[0] == counts[1]


def test_a_closed_run(yard: Yard) -> None:
    close_run(actor=yard.lead, run=yard.run)
    with pytest.raises(Refused, match="closed"):
        enrol_file(actor=yard.lead, run=yard.run, text=f"{HEAD}Ada,ada@example.org,\n")


@pytest.mark.parametrize("who", ["teacher", "trainee", "manager", "stranger"])
def test_only_a_lead(yard: Yard, who: str) -> None:
    with pytest.raises(PermissionDenied):
        enrol_file(actor=getattr(yard, who), run=yard.run, text=f"{HEAD}Ada,ada@example.org,\n")
