"""The task sheet: who sees it, what it says, and on which paper."""

from io import BytesIO
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from django.conf import settings
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from page import validate_pdf_bytes

from assessments.actions.attempts import start_attempt
from assessments.actions.programs import load_program
from assessments.actions.sealing import seal_standard
from assessments.engine.tasksheet import task_sheet
from assessments.models import PracticalTask, SealedStandard
from assessments.queries.task_sheet import TaskSheet, own_sheets, sheet_of
from tests.assessments.builders import criterion, make_standard, make_yard, standard_document
from tests.certificates.pdf.tools import text_of
from tests.factories import enrol, make_organisation, make_person, make_program, make_role, make_run
from training.digests import digest
from training.models import Enrolment, Person, Role

pytestmark = pytest.mark.django_db
PROGRAMS: Path = settings.BASE_DIR / "fixtures" / "programs"
LETTER, A4 = (612, 792), (595.28, 841.89)  # points: ANSI/ASME Y14.1, size A; ISO 216


def shipped(name: str, lead: Person) -> SealedStandard:
    """A program of the fixtures, loaded and sealed by ``lead``."""
    source = PROGRAMS / f"{name}.yaml"
    program = load_program(
        actor=lead,
        provider=lead.roles.get().organisation,
        source=source.read_bytes(),
        filename=source.name,
    )
    return seal_standard(actor=lead, program=program)


@pytest.fixture
def lead() -> Person:
    return make_role(Role.Kind.LEAD, make_organisation())


@pytest.fixture
def sealed(lead: Person) -> SealedStandard:
    return shipped("dutchman", lead)


@pytest.fixture
def place(sealed: SealedStandard) -> Enrolment:
    """A trainee's place on a run of the program, which an instructor teaches."""
    teacher = make_role(Role.Kind.INSTRUCTOR, sealed.program.provider)
    return enrol(make_run(sealed.program, instructors=(teacher,)), make_person())


def browser(person: Person) -> Client:
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


def address(standard: SealedStandard, name: str = "task_sheet", /, **query: Any) -> str:
    asked = "&".join(f"{key}={value}" for key, value in query.items())
    return f"{reverse(name, args=[standard.pk])}?{asked}"


def see(person: Person, standard: SealedStandard, **query: object) -> Any:
    return browser(person).get(address(standard, **query))


def pdf_of(person: Person, standard: SealedStandard, **query: object) -> bytes:
    response = browser(person).get(address(standard, "task_sheet_pdf", **query))
    assert (response.status_code, response["Content-Type"]) == (200, "application/pdf")
    return bytes(response.content)


def size_of(pdf: bytes) -> list[float]:
    with pikepdf.open(BytesIO(pdf)) as read:
        return [float(edge) for edge in read.pages[0].mediabox][2:]


@pytest.mark.parametrize(
    ("role", "sheet", "draft", "of_the_trainee"),
    [
        ("lead", 200, 200, 200),
        ("instructor of the run", 200, 200, 200),
        ("trainee", 200, 404, 200),
        ("trainee of another run", 200, 404, 404),
        ("instructor of nothing", 404, 404, 404),
        ("lead elsewhere", 404, 404, 404),
        ("stranger", 404, 404, 404),
    ],
)
def test_who_sees_it(
    lead: Person,
    sealed: SealedStandard,
    place: Enrolment,
    role: str,
    sheet: int,
    draft: int,
    of_the_trainee: int,
) -> None:
    provider = sealed.program.provider
    other = make_person()
    enrol(make_run(sealed.program), other)
    people = {
        "lead": lead,
        "instructor of the run": place.run.instructors.get(),
        "trainee": place.person,
        "trainee of another run": other,
        "instructor of nothing": make_role(Role.Kind.INSTRUCTOR, provider),
        "lead elsewhere": make_role(Role.Kind.LEAD, make_organisation()),
        "stranger": make_person(),
    }
    person = people[role]
    assert see(person, sealed).status_code == sheet
    drafted = reverse("task_sheet_draft", args=[sealed.program.pk])
    assert browser(person).get(drafted).status_code == draft
    for name in ("task_sheet", "task_sheet_pdf"):
        response = browser(person).get(address(sealed, name, **{"for": place.pk}))
        assert response.status_code == of_the_trainee, name


def test_whose_it_is_stands_on_it_and_nobody_else(
    lead: Person, sealed: SealedStandard, place: Enrolment
) -> None:
    other = make_person("Zenobia Thistlewood")
    enrol(place.run, other)
    shown = see(lead, sealed, **{"for": place.pk}).content.decode()
    text = text_of(pdf_of(lead, sealed, **{"for": place.pk}))
    for part in (place.person.full_name, place.run.site.name, "2 Nov 2026"):
        assert part in shown
        assert part in text
    assert other.full_name not in shown + text
    blank = text_of(pdf_of(lead, sealed))
    assert place.person.full_name not in blank


@pytest.mark.parametrize("asked", ["mine", "00000000-0000-4000-8000-000000000001"])
def test_no_such_enrolment(lead: Person, sealed: SealedStandard, asked: str) -> None:
    assert see(lead, sealed, **{"for": asked}).status_code == 404


def test_an_enrolment_on_another_program_is_none_of_this_sheet(
    lead: Person, sealed: SealedStandard
) -> None:
    elsewhere = enrol(make_run(make_program(sealed.program.provider)), make_person())
    assert see(lead, sealed, **{"for": elsewhere.pk}).status_code == 404


@pytest.mark.parametrize("name", ["dutchman", "repoint"])
def test_page_and_paper_say_the_sums_of_the_engine(lead: Person, name: str) -> None:
    standard = shipped(name, lead)
    task = standard.document["about"]["task"]
    sums = task_sheet(task["sheet"], standard.document["dimensions"])
    assert len(sums) >= 4
    response = see(lead, standard)
    shown, text = " ".join(response.content.decode().split()), text_of(pdf_of(lead, standard))
    assert response.context["sheet"].sums == sums
    for each in sums:
        for _, figure in each.results:
            assert f"<dd>{figure}</dd>" in shown
            assert figure in text
        assert each.title in text
        for said, source in each.cautions:
            assert said in text
            assert source in text
    for caution in task["cautions"]:
        assert caution["source"] in text
    assert "Local codes and licensed practice come first." in text


def test_what_is_dangerous_comes_first(lead: Person, sealed: SealedStandard) -> None:
    for said in (see(lead, sealed).content.decode(), text_of(pdf_of(lead, sealed))):
        said = said[said.index("Make one dutchman") :]  # after the menu of the page
        parts = (
            "Make one",
            "Cautions:",
            "Silica dust",
            "Dimensions",
            "Sums",
            "The work",
            "Materials",
        )
        places = [said.index(part) for part in parts]
        assert places == sorted(places)


def test_stages_criteria_and_limits_as_numbers(lead: Person, sealed: SealedStandard) -> None:
    """The piece is 6 in less two joints of 1/16 to 1/8 in: 5 3/4 to 5 7/8 in, by hand."""
    text = text_of(pdf_of(lead, sealed))
    assert "5 3/4 in to 5 7/8 in" in text
    assert "24 h or more" in text
    document = sealed.document
    for row in document["stages"]:
        assert row["title"] in text
    for row in document["criteria"]:
        assert row["title"].split()[0] in text
    assert text.count("Hold point: stop here and call the instructor.") == 2
    critical = sum(row["critical"] for row in document["criteria"])
    assert text.count("Critical") == critical + 1  # and once where the word is explained
    assert see(lead, sealed).content.decode().count("<span>Critical</span>") == critical


@pytest.mark.parametrize(
    ("name", "query", "size"),
    [
        ("dutchman", {}, LETTER),
        ("dutchman", {"paper": "a4"}, A4),
        ("repoint", {}, A4),
        ("repoint", {"paper": "letter"}, LETTER),
    ],
)
def test_the_paper_follows_the_unit_unless_it_is_named(
    lead: Person, name: str, query: dict[str, object], size: tuple[float, float]
) -> None:
    pdf = pdf_of(lead, shipped(name, lead), **query)
    assert size_of(pdf) == pytest.approx(size, abs=0.05)
    report = validate_pdf_bytes(pdf, profile="ua1")  # an independent validator: ISO 14289-1
    assert report.rules.total > 100
    assert [failure.message for failure in report.failures] == []


@pytest.mark.parametrize("paper", ["a3", "", "Letter"])
def test_another_paper_is_refused_in_words(
    lead: Person, sealed: SealedStandard, paper: str
) -> None:
    response = browser(lead).get(address(sealed, "task_sheet_pdf", paper=paper))
    assert response.status_code == 400
    assert "ask for letter or a4" in response.content.decode()


def test_a_name_that_no_font_can_print_is_refused_in_words(
    lead: Person, sealed: SealedStandard, place: Enrolment
) -> None:
    Person.objects.filter(pk=place.person_id).update(full_name="Oduya \U0010fffd")
    response = browser(lead).get(address(sealed, "task_sheet_pdf", **{"for": place.pk}))
    assert response.status_code == 400
    assert "No font on this machine has \U0010fffd" in response.content.decode()


def test_the_draft_is_marked(lead: Person, sealed: SealedStandard) -> None:
    shown = browser(lead).get(reverse("task_sheet_draft", args=[sealed.program.pk]))
    assert "DRAFT, NOT SEALED." in shown.content.decode()
    assert "5 3/4 in to 5 7/8 in" in shown.content.decode()
    assert reverse("task_sheet_pdf", args=[sealed.pk]) not in shown.content.decode()
    assert "DRAFT" not in see(lead, sealed).content.decode()


def test_a_draft_without_a_task_says_what_to_do(lead: Person) -> None:
    program = make_program(lead.roles.get().organisation)
    response = browser(lead).get(reverse("task_sheet_draft", args=[program.pk]))
    assert response.status_code == 200
    assert "write them in its program file and load that" in response.content.decode()


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


def test_the_trainee_finds_the_sheet_before_and_after_the_attempt() -> None:
    yard = make_yard()
    link = address(yard.standard, **{"for": yard.enrolment.pk})
    assert link in browser(yard.trainee).get(reverse("my_results")).content.decode()
    start_attempt(actor=yard.instructor, enrolment=yard.enrolment)
    make_standard(yard.program, outcomes=[{"key": "O1", "statement": "New", "minimum": None}])
    # The attempt stays under the standard that it was started under.
    (own,) = own_sheets(yard.trainee)
    assert own.standard == yard.standard


def test_my_results_needs_a_constant_number_of_queries() -> None:
    yard = make_yard()

    def count() -> int:
        with CaptureQueriesContext(connection) as seen:
            found = own_sheets(yard.trainee)
            assert all(each.enrolment.run.site.name for each in found)
        return len(seen)

    once = count()
    for _ in range(2):
        program = make_program(yard.provider)
        make_standard(program)
        enrol(make_run(program), yard.trainee)
    assert len(own_sheets(yard.trainee)) == 3
    assert count() == once == 3


def test_the_sheet_is_linked_where_it_is_needed(
    lead: Person, sealed: SealedStandard, place: Enrolment
) -> None:
    attempt = start_attempt(actor=lead, enrolment=place)
    sheet = reverse("task_sheet", args=[sealed.pk])
    paper = address(sealed, "task_sheet_pdf", **{"for": place.pk})
    client = browser(lead)
    pages = [
        (
            "standard",
            sealed.program.pk,
            [sheet, reverse("task_sheet_draft", args=[sealed.program.pk])],
        ),
        ("sealed_standard", sealed.pk, [sheet]),
        ("run", place.run.pk, [sheet, paper]),
        ("attempt_score", attempt.pk, [f"{sheet}?for={place.pk}"]),
    ]
    for name, key, wanted in pages:
        shown = client.get(reverse(name, args=[key])).content.decode()
        for link in wanted:
            assert f'href="{link}"' in shown, (name, link)
