"""A record's conditions are those that were sealed, whatever the program's rows say since."""

import pytest

from assessments.actions.programs import load_program
from assessments.actions.sealing import seal_standard
from assessments.models import PracticalTask
from certificates.actions.issue import issue_record
from certificates.record_document import build_record_document
from tests.assessments.builders import make_yard
from tests.assessments.programfile.sources import SMALL
from tests.certificates.builders import ISSUED, met_decision
from tests.factories import make_organisation, make_role

pytestmark = pytest.mark.django_db

SEALED = [{"name": "Stone", "value": "Sandstone"}, {"name": "Place", "value": "Shop"}]
LATER = [{"name": "Stone", "value": "Granite"}]


def conditions_of(**changes: object) -> object:
    """Return the conditions of a record under a standard with ``changes``."""
    yard = make_yard(**changes)
    PracticalTask.objects.create(program=yard.program, title="One sill", conditions=LATER)
    document = build_record_document(
        decision=met_decision(yard),
        number="AAAA-AAAA-AAAA",
        issued_at=ISSUED,
        check_url="https://example.org",
    )
    return document["conditions"]


def test_the_sealed_conditions_stand_on_the_record() -> None:
    assert conditions_of(about={"task": {"title": "One sill", "conditions": SEALED}}) == SEALED


def test_sealed_without_conditions_there_are_none() -> None:
    assert conditions_of(about={"task": {"title": "One sill", "conditions": []}}) == []


@pytest.mark.parametrize("changes", [{}, {"about": {}}, {"about": {"task": {"title": "One"}}}])
def test_an_older_seal_leaves_the_conditions_to_the_program(changes: dict[str, object]) -> None:
    assert conditions_of(**changes) == LATER


def test_an_older_seal_of_a_program_without_a_task_has_no_conditions() -> None:
    yard = make_yard()
    record = issue_record(actor=yard.lead, decision=met_decision(yard))
    assert record.document["conditions"] == []


def test_loading_and_sealing_a_file_seals_its_conditions() -> None:
    provider = make_organisation()
    lead = make_role("lead", provider)
    program = load_program(actor=lead, provider=provider, source=SMALL, filename="sill.yaml")
    sealed = seal_standard(actor=lead, program=program)
    assert sealed.document["about"]["task"]["conditions"] == SEALED[:1]
    PracticalTask.objects.filter(program=program).update(conditions=LATER)
    sealed.refresh_from_db()
    assert sealed.document["about"]["task"]["conditions"] == SEALED[:1]
