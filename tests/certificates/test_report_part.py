"""The records that a training report to the owner names: those of the run, as they stand."""

from datetime import timedelta

import pytest
from django.utils import timezone

from assessments.trainingreport.work import who_may_do
from tests.assessments.builders import Yard, make_yard
from tests.assessments.trainingreport.builders import agree, part
from tests.certificates.builders import met_decision, record_row
from tests.certificates.crew.builders import QUALIFICATION
from training.models import Consent

pytestmark = pytest.mark.django_db


@pytest.fixture
def yard() -> Yard:
    return make_yard()


def test_a_record_of_the_run_is_told_with_its_state(yard: Yard) -> None:
    other = make_yard()
    record_row(met_decision(other))
    last = timezone.localdate() + timedelta(days=400)
    record = record_row(met_decision(yard), valid_until=last)
    (row,) = who_may_do(yard.run)
    assert (row.person, row.number) == (yard.trainee.pk, record.number)
    assert (row.state, row.counts, row.until) == ("Current", True, last.isoformat())
    assert row.covers == ()


def test_what_a_record_covers_is_what_the_sealed_standard_says() -> None:
    yard = make_yard(about={"qualification": QUALIFICATION})
    record_row(met_decision(yard))
    covers = dict(who_may_do(yard.run)[0].covers)
    # The rules of the builder, read by hand: as assessed, and what is easier.
    assert set(covers) == {"Stone", "Position", "Depth of the piece"}
    assert covers["Stone"] == "Sandstone and limestone."
    assert part(yard, "work")["records"][0]["covers"] == [list(each) for each in covers.items()]


def test_a_record_that_was_replaced_is_left_out(yard: Yard) -> None:
    decision = met_decision(yard)
    before = record_row(decision)
    after = record_row(decision, replaces=before)
    assert [row.number for row in who_may_do(yard.run)] == [after.number]


def test_the_report_names_the_holder_only_with_consent(yard: Yard) -> None:
    record = record_row(met_decision(yard))
    (row,) = part(yard, "work")["records"]
    assert (row["name"], row["number"]) == ("Trainee 1", "")
    agree(yard, yard.trainee, Consent.Kind.NAME_IN_REPORTS)
    (row,) = part(yard, "work")["records"]
    assert (row["name"], row["number"]) == (yard.trainee.full_name, record.number)
    assert part(yard, "work")["counting"] == 1
