"""The pages of versions and of what changed: who sees them, and what they say."""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from assessments.actions.programs import load_program
from tests.assessments.desk.conftest import Desk
from tests.assessments.programfile.sources import changed
from training.models import Program


def further(desk: Desk, version: int, *changes: tuple[str, str]) -> Program:
    """Load a further version of the program."""
    source = changed(
        ("version: 1\n", f"version: {version}\nchanges: Reason {version}.\n"), *changes
    )
    return load_program(actor=desk.lead, provider=desk.provider, source=source, filename="n.yaml")


def test_the_versions_stand_with_their_authors_words(
    desk: Desk, client: Client, django_assert_num_queries: Any
) -> None:
    client.force_login(desk.lead)
    address = reverse("program_versions", args=[desk.program.pk])
    page = client.get(address).content.decode()
    assert "Nothing is written" in page
    with django_assert_num_queries(8, exact=False) as one:
        client.get(address)
    further(desk, 2)
    further(desk, 3)
    with django_assert_num_queries(len(one)):
        page = client.get(address).content.decode()
    assert page.index("Reason 3.") < page.index("Reason 2.") < page.index("Nothing is written")
    assert page.count("Not sealed") == 3


def test_two_versions_are_compared_in_words(desk: Desk, client: Client) -> None:
    second = further(desk, 2, ("joint: 1/8 in", "joint: 1/16 in"), ("cut: 70 %", "cut: 75 %"))
    client.force_login(desk.lead)
    answer = client.get(reverse("program_diff", args=[second.pk]))
    page = answer.content.decode()
    assert answer.context["before"] == desk.program
    assert "Reason 2." in page
    for text in ("1/8 in", "1/16 in", "5 7/8 in", "70 %", "75 %", "lowest overall score"):
        assert text in page
    assert answer.context["count"] == 3
    asked = client.get(reverse("program_diff", args=[desk.program.pk]), {"before": str(second.pk)})
    assert asked.context["before"] == second


def test_alone_there_is_nothing_to_compare_with(desk: Desk, client: Client) -> None:
    client.force_login(desk.lead)
    page = client.get(reverse("program_diff", args=[desk.program.pk])).content.decode()
    assert "nothing to compare with" in page


@pytest.mark.parametrize("asked", ["6f1c7b1e-5d0a-4a53-9d0e-0f6f3f2b9a11", "nonsense", "\x00"])
def test_what_is_not_there_is_not_compared(desk: Desk, client: Client, asked: str) -> None:
    client.force_login(desk.lead)
    address = reverse("program_diff", args=[desk.program.pk])
    assert client.get(address, {"before": asked}).status_code == 404


def test_a_version_that_was_never_loaded_is_told(desk: Desk, client: Client) -> None:
    empty = Program.objects.create(
        provider=desk.provider, code="SILL", version=9, title="E", unit="in"
    )
    client.force_login(desk.lead)
    page = client.get(reverse("program_diff", args=[empty.pk])).content.decode()
    assert "no practical task" in page


@pytest.mark.parametrize(
    ("who", "versions", "copy"),
    [("lead", 200, 200), ("instructor", 200, 403), ("trainee", 404, 404)],
)
def test_who_sees_what(desk: Desk, client: Client, who: str, versions: int, copy: int) -> None:
    client.force_login(getattr(desk, who))
    for name, status in (
        ("program_versions", versions),
        ("program_diff", versions),
        ("program_copy", copy),
    ):
        assert client.get(reverse(name, args=[desk.program.pk])).status_code == status
