"""The page of a program: why it is taught, what to bring, the hours, and who may teach."""

from datetime import date, timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from tests.factories import make_role
from tests.training.yard import Yard
from training.models import (
    DocumentTakenBack,
    HeldDocument,
    Module,
    Person,
    ProgramPrerequisite,
    Role,
)
from training.queries.materials import minutes_by_kind, teachers_of
from training.templatetags.desk import hours


def paper(
    yard: Yard, person: Person, *, expires_on: date | None = None, kind: str = "instructor"
) -> HeldDocument:
    return HeldDocument.objects.create(
        person=person,
        provider=yard.provider,
        kind=kind,
        title="Master mason",
        issuer="Guild of the Yard",
        issued_on=date(2020, 1, 1),
        expires_on=expires_on,
        seen_by=yard.lead,
    )


@pytest.mark.parametrize(
    ("minutes", "text"), [(0, "0 min"), (45, "45 min"), (60, "1 h"), (90, "1 h 30 min")]
)
def test_minutes_are_told_in_hours(minutes: int, text: str) -> None:
    assert hours(minutes) == text


def test_hours_are_added_up_by_the_way_to_teach() -> None:
    ways = [("lecture", 60), ("supervised practice", 300), ("lecture", 90)]
    modules = [Module(kind=kind, minutes=minutes) for kind, minutes in ways]
    assert minutes_by_kind(modules) == [("Lecture", 150), ("Supervised practice", 300)]


def test_a_paper_counts_until_the_end_of_its_last_day(yard: Yard) -> None:
    held = paper(yard, yard.teacher, expires_on=date(2026, 3, 31))
    paper(yard, yard.teacher, kind="lifting")
    for day, counts in ((date(2026, 3, 31), True), (date(2026, 4, 1), False)):
        teachers = {each.person: each for each in teachers_of(yard.program, day)}
        assert teachers[yard.teacher].held == ([held] if counts else [])
        assert teachers[yard.teacher].lapsed == ([] if counts else [held])
        assert teachers[yard.other_teacher].held == []
    DocumentTakenBack.objects.create(document=held, reason="Mixed up", by=yard.lead)
    (found,) = (
        each for each in teachers_of(yard.program, date(2026, 3, 31)) if each.person == yard.teacher
    )
    assert (found.held, found.lapsed) == ([], [])


def test_papers_of_another_provider_do_not_count(yard: Yard, other_yard: Yard) -> None:
    paper(other_yard, yard.teacher)
    assert all(not each.held for each in teachers_of(yard.program))


def test_the_page_tells_what_is_written_and_who_may_teach(
    yard: Yard, client: Client, django_assert_num_queries: Any
) -> None:
    yard.program.needs = "Two sills leaked."
    yard.program.save()
    ProgramPrerequisite.objects.create(
        program=yard.program,
        position=1,
        key="fit",
        title="Respirator fit test",
        applies="practical",
        accepts="A record of the test",
        source="Set by the project",
    )
    paper(yard, yard.teacher)
    today = timezone.localdate()
    paper(yard, yard.other_teacher, expires_on=today - timedelta(days=1))
    client.force_login(yard.lead)
    address = reverse("program", args=[yard.program.pk])
    with django_assert_num_queries(30, exact=False) as three:
        page = client.get(address).content.decode()
    for text in (
        "Two sills leaked.",
        "Respirator fit test",
        "The practical task",
        "Master mason, Guild of the Yard",
        "Qualification on file",
        "Lapsed",
    ):
        assert text in page
    for _ in range(3):
        make_role(Role.Kind.INSTRUCTOR, yard.provider)
    with django_assert_num_queries(len(three)):
        client.get(address)


def test_a_trainee_sees_what_to_bring_and_no_papers_of_instructors(
    yard: Yard, client: Client
) -> None:
    paper(yard, yard.teacher)
    client.force_login(yard.trainee)
    page = client.get(reverse("program", args=[yard.program.pk])).content.decode()
    assert "What a person has to bring" in page
    assert "Guild of the Yard" not in page
    assert "Copy to a new site" not in page
    assert "Add a material" not in page
