"""Arranging a day for a retake, moving it and giving it up; the trainee is written to."""

from collections.abc import Callable
from datetime import date, timedelta

import pytest
from django.core import mail
from django.core.exceptions import PermissionDenied
from django.utils import timezone

from assessments.actions.retakes import arrange_retake, give_up_retake_day, start_retake
from assessments.models import Attempt, RetakeDay
from assessments.queries.attempts import standings
from assessments.queries.retakes import retaking, run_retakes
from tests.assessments.builders import Yard
from tests.assessments.retakes.builders import failed_yard
from tests.factories import make_role
from training.errors import Refused
from training.models import CourseRun, LogEntry, Person, Role
from training.queries.fit import day_at
from training.queries.todo import todos_of

pytestmark = pytest.mark.django_db
Commits = Callable[..., object]


def arrange(yard: Yard, attempt: Attempt, days: int, place: str = "Yard 3, bench 2") -> RetakeDay:
    day = day_at(yard.run.site) + timedelta(days=days)
    return arrange_retake(actor=yard.instructor, attempt=attempt, day=day, place=place)


def arranged(yard: Yard) -> tuple[date, str] | None:
    found = retaking(yard.enrolment)
    assert found is not None
    return (found.day.day, found.day.place) if found.day else None


def test_a_day_is_arranged_moved_and_given_up_and_each_is_written_once(
    django_capture_on_commit_callbacks: Commits,
) -> None:
    yard, first = failed_yard(0)
    today = day_at(yard.run.site)
    with django_capture_on_commit_callbacks(execute=True):  # type: ignore[attr-defined]
        arrange(yard, first, 7, "  Yard 3,\n bench 2 ")
        assert mail.outbox == []  # not before it is saved
    assert arranged(yard) == (today + timedelta(days=7), "Yard 3, bench 2")
    with django_capture_on_commit_callbacks(execute=True):  # type: ignore[attr-defined]
        arrange(yard, first, 7)  # the same once more: nothing new
    with django_capture_on_commit_callbacks(execute=True):  # type: ignore[attr-defined]
        arrange(yard, first, 9)
    with django_capture_on_commit_callbacks(execute=True):  # type: ignore[attr-defined]
        give_up_retake_day(actor=yard.lead, attempt=first, reason="Frost is forecast.")
    assert arranged(yard) is None
    assert [letter.to for letter in mail.outbox] == [[yard.trainee.email]] * 3
    assert [letter.subject for letter in mail.outbox] == [
        "A day for your retake",
        "Your retake is on another day",
        "Your retake is called off",
    ]
    assert "Place: Yard 3, bench 2." in mail.outbox[0].body
    assert f"/attempts/{first.pk}/" in mail.outbox[1].body
    assert "Why: Frost is forecast." in mail.outbox[2].body
    assert list(RetakeDay.objects.order_by("pk").values_list("cancelled", flat=True)) == [
        False,
        False,
        True,
    ]
    verbs = LogEntry.objects.filter(verb__startswith="retake.").order_by("seq")
    assert [row.verb for row in verbs] == ["retake.arranged"] * 2 + ["retake.given_up"]


def test_the_letter_is_in_the_language_of_its_reader(
    django_capture_on_commit_callbacks: Commits,
) -> None:
    yard, first = failed_yard(0)
    Person.objects.filter(pk=yard.trainee.pk).update(language="es")
    with django_capture_on_commit_callbacks(execute=True):  # type: ignore[attr-defined]
        arrange(yard, first, 7)
    assert mail.outbox[0].to == [yard.trainee.email]


@pytest.mark.parametrize(
    ("days", "place", "field", "said"),
    [
        (6, "Yard", "day", "the earliest day is"),
        (-1, "Yard", "day", "This day is over"),
        (7, "  ", "place", "Write where"),
        (7, "x" * 301, "place", "keep it to 300"),
        (7, "a\0b", "place", "no meaning"),
    ],
)
def test_what_cannot_be_arranged_is_told_at_its_field(
    days: int, place: str, field: str, said: str
) -> None:
    yard, first = failed_yard(0)
    with pytest.raises(Refused, match=said) as caught:
        arrange(yard, first, days, place)
    assert caught.value.field == field
    assert not RetakeDay.objects.exists()


def test_nothing_is_arranged_where_nothing_can_be_made_again() -> None:
    yard, first = failed_yard(0, most=1)
    with pytest.raises(Refused, match="allows 1 attempt in all"):
        arrange(yard, first, 9)
    yard, first = failed_yard()
    second = start_retake(actor=yard.instructor, attempt=first, whole=True)
    with pytest.raises(Refused, match="open already"):
        arrange(yard, first, 9)
    with pytest.raises(Refused, match="Attempt 1 came after"):
        arrange(yard, second, 9)


def test_a_day_is_given_up_with_a_reason_and_only_where_there_is_one() -> None:
    yard, first = failed_yard(0)
    with pytest.raises(Refused, match="No day is arranged"):
        give_up_retake_day(actor=yard.instructor, attempt=first, reason="Frost")
    arrange(yard, first, 7)
    with pytest.raises(Refused, match="Write why") as caught:
        give_up_retake_day(actor=yard.instructor, attempt=first, reason=" ")
    assert caught.value.field == "reason"
    assert arranged(yard) is not None


def test_outsiders_and_closed_runs_arrange_nothing() -> None:
    yard, first = failed_yard(0)
    for person in (yard.trainee, make_role(Role.Kind.INSTRUCTOR, yard.provider)):
        with pytest.raises(PermissionDenied):
            arrange_retake(actor=person, attempt=first, day=timezone.localdate(), place="Yard")
    CourseRun.objects.update(state=CourseRun.State.CLOSED)
    with pytest.raises(Refused, match="run is closed"):
        arrange(yard, first, 7)


def test_the_day_stands_on_the_first_pages_until_the_attempt_begins() -> None:
    yard, first = failed_yard(1, after_days=1)
    arrange(yard, first, 0)

    def told(person: Person, kind: str) -> list[str]:
        return [each.title for each in todos_of(person, frozenset({kind})) if "etake" in each.title]

    assert len(told(yard.trainee, "trainee")) == 1
    assert str(yard.trainee) in told(yard.instructor, "instructor")[0]
    assert told(make_role(Role.Kind.INSTRUCTOR, yard.provider), "instructor") == []
    start_retake(actor=yard.instructor, attempt=first, whole=True)
    assert told(yard.trainee, "trainee") == []
    assert told(yard.instructor, "instructor") == []


def test_a_day_far_off_is_told_to_the_trainee_alone() -> None:
    yard, first = failed_yard(0)
    arrange(yard, first, 30)
    assert any("retake" in each.title for each in todos_of(yard.trainee, frozenset({"trainee"})))
    entries = todos_of(yard.instructor, frozenset({"instructor"}))
    assert not any("Retake" in each.title for each in entries)


def test_the_run_says_the_same_as_the_enrolment() -> None:
    yard, first = failed_yard(3)
    arrange(yard, first, 5)
    said = run_retakes(standings(yard.run), yard.run)[yard.enrolment.pk]
    found = retaking(yard.enrolment)
    assert found is not None
    assert (said.of, said.earliest, said.left, said.day) == (
        found.of,
        found.earliest,
        found.left,
        found.day,
    )
    assert (said.left, said.under_review) == (2, False)
