"""A copy for another site: limits with their sources, faults at their fields, nothing lost."""

from typing import Any

import pytest
from django.core.exceptions import PermissionDenied
from django.test import Client
from django.urls import reverse

from assessments.actions.program_copy import NotCopied, copy_program
from assessments.actions.programs import load_program
from assessments.forms.desk import CopyForm
from assessments.programfile.adapting import Adaptation
from assessments.programfile.writing import write_program
from assessments.queries.program_document import program_document
from tests.assessments.desk.conftest import Desk
from tests.assessments.programfile.sources import changed
from training.models import LogEntry, Material, Program


def values(desk: Desk, **typed: str) -> dict[str, str]:
    """Return what the form holds when it is opened, with other values typed into some fields."""
    form = CopyForm(document=program_document(desk.program))
    opened = {name: form[name].value() or "" for name in form.fields}
    assert set(typed) <= set(opened)
    return {name: text for name, text in {**opened, **typed}.items() if text is not False}


def refused(desk: Desk, **typed: str) -> dict[str | None, str]:
    form = CopyForm(values(desk, **typed), document=program_document(desk.program))
    assert form.is_valid(), form.errors
    with pytest.raises(NotCopied) as caught:
        copy_program(actor=desk.lead, program=desk.program, typed=form.typed())
    assert Program.objects.count() == 1
    return dict(caught.value.faults)


def copied(desk: Desk, **typed: str) -> Program:
    form = CopyForm(values(desk, **typed), document=program_document(desk.program))
    assert form.is_valid(), form.errors
    return copy_program(actor=desk.lead, program=desk.program, typed=form.typed())


def test_a_copy_without_a_change_is_the_same_file_as_the_next_version(desk: Desk) -> None:
    copy = copied(desk)
    expected = changed(
        ("version: 1\n", "version: 2\nchanges: Copied from SILL, version 1.\n"),
    )
    assert write_program(program_document(copy)) == expected
    assert not copy.standards.exists()
    entry = LogEntry.objects.latest("seq")
    assert (entry.verb, entry.subject_id) == ("program.copied", str(copy.pk))


def test_a_new_code_begins_at_version_1_and_says_where_it_came_from(desk: Desk) -> None:
    copy = copied(
        desk,
        code="JAMB",
        title="Jamb repair",
        scope="Jambs alone.",
        note="For the mill.",
        **{
            "dimension-joint": "1/16 in",
            "dimension_source-joint": "Drawing 12 of the mill",
            "confirmed-width": "on",
        },
    )
    assert (copy.code, copy.version, copy.title, copy.scope) == (
        "JAMB",
        1,
        "Jamb repair",
        "Jambs alone.",
    )
    assert copy.changes == (
        "Copied from SILL, version 1.\n"
        "Dimension joint: 1/8 in before, 1/16 in now. Source: Drawing 12 of the mill.\n"
        "For the mill."
    )
    dimensions = program_document(copy)["task"]["dimensions"]
    assert dimensions["joint"] == {"value": "1/16", "unit": "in"}
    assert desk.program.code == "SILL"


def test_a_changed_limit_needs_its_source_written_or_confirmed(desk: Desk) -> None:
    assert set(refused(desk, **{"upper-width": "6 1/8 in"})) == {"source-width"}
    copy = copied(desk, **{"upper-width": "6 1/8 in", "source-width": "Drawing 12"})
    width = program_document(copy)["task"]["criteria"][1]
    assert (width["limits"]["upper"], width["limits_source"]) == ("49/8", "Drawing 12")
    again = copied(desk, **{"upper-width": "6 1/8 in", "confirmed-width": "on"})
    assert again.version == 3


def test_a_dimension_that_moves_a_limit_asks_for_both_sources(desk: Desk) -> None:
    """6 in less two joints of 1/8 in are 5 3/4 in, less two of 1/4 in 5 1/2 in: by hand."""
    faults = refused(desk, **{"dimension-joint": "1/4 in"})
    assert set(faults) == {"dimension_source-joint", "source-width"}
    assert "5 3/4 in" in faults["source-width"]
    assert "5 1/2 in" in faults["source-width"]


@pytest.mark.parametrize(
    ("typed", "name", "sentence"),
    [
        ({"upper-width": "6 cm"}, "upper-width", "write it in in"),
        ({"lower-width": "opening - gap"}, "lower-width", "no dimension “gap”"),
        ({"lower-width": "7 in"}, "upper-width", "below the lower limit"),
        ({"lower-width": "", "upper-width": ""}, "lower-width", "limit"),
        ({"dimension-joint": "thin"}, "dimension-joint", "number and its unit"),
        ({"dimension-joint": ""}, "dimension-joint", "number and its unit"),
        ({"source-width": ""}, "source-width", "write a text"),
        ({"code": "jamb"}, "code", "capital letters"),
        ({"title": "a\x07b"}, None, "unseen character"),
    ],
)
def test_what_the_file_does_not_allow_is_told_at_its_field(
    desk: Desk, typed: dict[str, str], name: str | None, sentence: str
) -> None:
    faults = refused(desk, **typed)
    assert set(faults) == {name}
    assert sentence in faults[name].lower()


def test_the_code_of_another_program_is_refused(desk: Desk) -> None:
    other = changed(("code: SILL", "code: JAMB"))
    load_program(actor=desk.lead, provider=desk.provider, source=other, filename="b.yaml")
    with pytest.raises(NotCopied) as caught:
        copied(desk, code="JAMB")
    assert caught.value.field == "code"
    assert Program.objects.count() == 2


def test_the_newest_materials_come_along(desk: Desk) -> None:
    for version in (1, 2):
        Material.objects.create(
            program=desk.program,
            module_key="M1",
            title="Slides",
            version=version,
            name="slides.pdf",
            file="materials/2024/a",
            sha256=str(version) * 64,
            size=10,
            changed="Redrawn",
            uploaded_by=desk.lead,
        )
    copy = copied(desk)
    (row,) = copy.materials.all()
    assert (row.title, row.version, row.sha256) == ("Slides", 1, "2" * 64)
    assert row.file.name == "materials/2024/a"


def test_only_a_lead_copies(desk: Desk) -> None:
    with pytest.raises(PermissionDenied):
        copy_program(
            actor=desk.instructor, program=desk.program, typed=Adaptation(code="SILL", title="x")
        )


def test_the_page_keeps_what_was_typed_and_names_the_field(desk: Desk, client: Client) -> None:
    client.force_login(desk.lead)
    address = reverse("program_copy", args=[desk.program.pk])
    opened = client.get(address)
    assert opened.status_code == 200
    assert "opening - 2 * joint" in opened.content.decode()
    typed: dict[str, Any] = values(desk, note="For the mill", **{"upper-width": "6 cm"})
    answer = client.post(address, typed)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == ["upper-width"]
    assert 'value="6 cm"' in page
    assert "For the mill" in page
    good = client.post(address, values(desk))
    assert good.status_code == 302
    assert good["Location"] == reverse("standard", args=[Program.objects.get(version=2).pk])


def test_a_program_without_a_task_is_not_copied(desk: Desk, client: Client) -> None:
    empty = Program.objects.create(provider=desk.provider, code="EMPTY", title="E", unit="in")
    client.force_login(desk.lead)
    answer = client.get(reverse("program_copy", args=[empty.pk]), follow=True)
    assert "no practical task" in answer.content.decode()
