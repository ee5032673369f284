"""The task sheet: who sees it, where it is found, and on which paper."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from page import validate_pdf_bytes

from assessments.actions.attempts import start_attempt
from assessments.engine.tasksheet import task_sheet
from assessments.models import SealedStandard
from assessments.queries.task_sheet import own_sheets
from tests.assessments.builders import make_standard, make_yard
from tests.assessments.task_sheet.reading import address, browser, pdf_of, see, shipped, size_of
from tests.certificates.pdf.tools import text_of
from tests.factories import enrol, make_organisation, make_person, make_program, make_role, make_run
from tests.faults.marks import rows_at_length
from tests.training.fit.builders import keep
from training.models import Enrolment, Person, Role

pytestmark = pytest.mark.django_db
LETTER, A4 = (612, 792), (595.28, 841.89)  # points: ANSI/ASME Y14.1, size A; ISO 216


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
        *rows_at_length(("repoint", {"paper": "letter"}, LETTER)),
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
    for each in sealed.program.prerequisites.all():
        keep(lead, place.person, sealed.program.provider, each.key)
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
