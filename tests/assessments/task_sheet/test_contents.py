"""What a task sheet says of limits and sums, also where the seal is older than the sheet."""

from typing import Any

import pytest

from assessments.models import PracticalTask, SealedStandard
from assessments.queries.task_sheet import TaskSheet, sheet_of
from tests.assessments.builders import criterion, make_yard, standard_document
from tests.assessments.task_sheet.reading import pdf_of, see
from tests.certificates.pdf.tools import text_of
from tests.factories import make_organisation, make_program
from training.digests import digest
from training.models import Enrolment, Person

pytestmark = pytest.mark.django_db


def sealed_before(sealed: SealedStandard, **changes: object) -> SealedStandard:
    """The same standard as it was sealed when standards did not hold their task."""
    document = {name: part for name, part in sealed.document.items() if name != "about"} | changes
    return SealedStandard.objects.create(
        program=sealed.program,
        serial=sealed.serial + 1,
        document=document,
        digest=digest(document),
        sealed_by=sealed.sealed_by,
    )


def needed(sheet: TaskSheet) -> list[tuple[str, str]]:
    return [(row.criterion.key, row.needed) for _, rows in sheet.stages for row in rows]


def test_an_old_seal_takes_the_words_of_the_program(lead: Person, sealed: SealedStandard) -> None:
    old = sealed_before(sealed)
    found, whole = sheet_of(old.program, old.document), sheet_of(sealed.program, sealed.document)
    assert found.sums == whole.sums
    assert found.cautions == whole.cautions
    assert needed(found) == needed(whole)
    said = "sealed without the words of its task"
    assert said in see(lead, old).content.decode()
    assert said in text_of(pdf_of(lead, old))
    assert said not in see(lead, sealed).content.decode()


def test_an_old_seal_whose_dimensions_do_not_fit(
    lead: Person, sealed: SealedStandard, place: Enrolment
) -> None:
    dimensions = dict(sealed.document["dimensions"])
    del dimensions["rod"]
    rows = [row for row in sealed.document["criteria"] if "rod" not in str(row.get("limits"))]
    old = sealed_before(sealed, dimensions=dimensions, criteria=rows)
    shown = see(lead, old).content.decode()
    assert "there is no dimension “rod”" in shown
    assert "load it and seal the standard anew" in shown
    assert "Ask your instructor for the sizes." in see(place.person, old).content.decode()
    assert "Work out the sizes with your instructor." in text_of(pdf_of(lead, old))


def test_without_sums_it_says_what_to_do() -> None:
    yard = make_yard()
    PracticalTask.objects.create(program=yard.program, title="One dutchman")
    assert "No sum is written" in see(yard.lead, yard.standard).content.decode()
    shown = see(yard.trainee, yard.standard).content.decode()
    assert "No sum is written" not in shown
    assert "Work out the sizes with your instructor." in shown
    assert "No sums belong to this task." in text_of(pdf_of(yard.trainee, yard.standard))


def test_each_kind_of_criterion_in_numbers() -> None:
    """By hand: a limit of 0 is none; 1/2 in is 12.7 mm (NIST SP 811, app. B); 60 min is 1 h."""
    program = make_program(make_organisation(), unit="mm")
    document = standard_document(program)
    length = next(row for row in document["criteria"] if row["kind"] == "measured")
    rows = [
        *document["criteria"],
        criterion("N", "set", "counted", what="voids", limits={"lower": None, "upper": "0"}),
        criterion("H", "set", "timed", limits={"lower": "60", "upper": None}, unit="min"),
        {**length, "key": "L", "limits": {"lower": None, "upper": "1/2"}},
    ]
    found = {
        row.criterion.key: row
        for _, rows in sheet_of(program, {**document, "criteria": rows}).stages
        for row in rows
    }
    assert found["C1"].needed == "Level 1 of 2 or higher"
    assert [enough for _, enough in found["C1"].levels] == [False, True, True]
    assert found["C3"].needed == "Yes"
    assert found["C4"].needed == "1 or less"
    assert found["C5"].needed == "10 min to 30 min"
    assert found["N"].needed == "None"
    assert found["H"].needed == "1 h or more"
    assert found["L"].needed == "1/2 in or less (12.7 mm or less)"
    assert found["C2"].how.startswith("Each of 2 readings must be within. Read with: feeler gauge.")


def test_the_guard_band_is_drawn_in_and_never_out(sealed: SealedStandard) -> None:
    standard = sheet_of(sealed.program, sealed.document)
    (row,) = (
        row for _, rows in standard.stages for row in rows if row.criterion.key == "joint_width"
    )
    rule: Any = row.criterion.rule
    accept = rule.acceptance()
    said = row.how.rsplit("guard band taken off: ", 1)[1].rstrip(".")
    low, high = (round(float(end.split()[0]) * 25_400_000) for end in said.split(" to "))
    assert accept.lower <= low < accept.lower + 2540  # 0.0001 in
    assert accept.upper - 2540 < high <= accept.upper
