"""The practical task starts only with the papers that the program asks for."""

import uuid
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from assessments.actions.attempts import start_attempt
from assessments.actions.site.packs import take_pack
from assessments.models import Attempt, Pack
from assessments.queries.site.pack_document import pack_document
from assessments.queries.task_sheet import sheet_of
from tests.assessments.builders import Yard, make_yard
from tests.assessments.task_sheet.reading import see, shipped
from tests.factories import enrol, make_organisation, make_person, make_role
from tests.training.fit.builders import ask_for, keep
from training.actions.documents import take_back_document
from training.errors import Refused
from training.models import Person, Role
from training.queries.fit import day_at

pytestmark = pytest.mark.django_db
DEVICE = uuid.UUID("00000000-0000-4000-8000-000000000001")


def page_of(person: Person, yard: Yard) -> str:
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client.get(reverse("run", args=[yard.run.pk])).content.decode()


def test_each_missing_or_lapsed_paper_is_said_with_what_to_bring() -> None:
    yard = make_yard()
    today = day_at(yard.run.site)
    ask_for(yard.program, "induction", accepts="The site's own card")
    ask_for(yard.program, "mask", title="Respirator fit", accepts="Fit test of this year")
    ask_for(yard.program, "english", applies="course")
    keep(yard.lead, yard.trainee, yard.provider, "mask", expires_on=today - timedelta(days=1))
    with pytest.raises(Refused) as refused:
        yard.attempt()
    yesterday = f"{today - timedelta(days=1):%d %b %Y}"
    assert refused.value.message == (
        f"{yard.trainee} cannot start the practical task. Induction: no paper was shown. Bring: "
        f"The site's own card. Respirator fit: lapsed, the paper's last day is {yesterday}. "
        "Bring: Fit test of this year."
    )
    assert not Attempt.objects.exists()
    shown = page_of(yard.lead, yard)
    assert "Cannot start" in shown
    assert "Start the attempt" not in shown
    assert yesterday in shown


def test_the_attempt_starts_on_the_last_day_of_the_paper_and_not_once_it_is_taken_back() -> None:
    yard = make_yard()
    today = day_at(yard.run.site)
    ask_for(yard.program, "mask")
    paper = keep(yard.lead, yard.trainee, yard.provider, "mask", issued_on=today, expires_on=today)
    assert yard.attempt().number == 1
    Attempt.objects.update(state="decided")
    take_back_document(actor=yard.instructor, document=paper, reason="Belongs to his brother.")
    with pytest.raises(Refused, match="counts no longer since"):
        yard.attempt()


def test_a_paper_shown_to_another_provider_does_not_count() -> None:
    yard, elsewhere = make_yard(), make_yard()
    ask_for(yard.program, "mask")
    ask_for(elsewhere.program, "mask")
    enrol(elsewhere.run, yard.trainee)
    keep(elsewhere.lead, yard.trainee, elsewhere.provider, "mask")
    with pytest.raises(Refused, match="no paper was shown"):
        yard.attempt()


def test_taking_the_run_up_skips_who_lacks_a_paper_and_says_why() -> None:
    yard = make_yard()
    ask_for(yard.program, "mask", accepts="Fit test")
    second = enrol(yard.run, make_person("Second Mason"))
    with pytest.raises(Refused, match=f"{yard.trainee} cannot start") as refused:
        take_pack(actor=yard.instructor, run=yard.run, device=DEVICE)
    assert "Second Mason cannot start" in refused.value.message
    assert not Pack.objects.exists()
    keep(yard.lead, second.person, yard.provider, "mask")
    pack = take_pack(actor=yard.instructor, run=yard.run, device=DEVICE)
    assert Attempt.objects.get().enrolment == second
    told = {each["name"]: each for each in pack_document(pack)["trainees"]}
    assert told["Second Mason"]["attempt"]
    assert told[str(yard.trainee)]["attempt"] is None
    assert "no paper was shown. Bring: Fit test." in told[str(yard.trainee)]["sentence"]


def test_an_attempt_that_is_open_goes_on_when_a_paper_lapses() -> None:
    yard = make_yard()
    attempt = yard.attempt()
    ask_for(yard.program, "mask")
    pack = take_pack(actor=yard.instructor, run=yard.run, device=DEVICE)
    [told] = pack_document(pack)["trainees"]
    assert told["attempt"] == str(attempt.pk)
    assert f"{reverse('attempt_score', args=[attempt.pk])}" in page_of(yard.lead, yard)


def test_a_program_without_prerequisites_blocks_nobody() -> None:
    yard = make_yard()
    assert start_attempt(actor=yard.instructor, enrolment=yard.enrolment).number == 1


@pytest.mark.parametrize("name", ["dutchman", "repoint"])
def test_the_task_sheets_of_both_programs_caution_of_what_hurts(name: str) -> None:
    lead = make_role(Role.Kind.LEAD, make_organisation())
    standard = shipped(name, lead)
    sheet = sheet_of(standard.program, standard.document)
    said = {each["hazard"].lower(): each for each in sheet.cautions}
    for hazard in ("silica", "height", "vibration", "lifting", "noise"):
        [caution] = [each for key, each in said.items() if hazard in key]
        assert caution["source"], hazard
    page = see(lead, standard).content.decode()
    assert "Local codes and licensed practice come first." in page
    assert page.count("Source: ") >= len(said)


def test_the_exposure_plan_shows_tools_minutes_points_and_the_average() -> None:
    # Points are 2 a² t with a in m/s² and t in hours, 100 of them being the daily action value
    # of 2.5 m/s² A(8) (HSE, hand-arm vibration exposure points; from memory): 2·36·1/2 = 36 for
    # the grinder and 2·81·1/3 = 54 for the drill. Silica: (60·30 + 40·20 + 20·120) / 480 µg/m³,
    # the 8-hour average of 29 CFR 1926.1153 (worked by hand): 10 5/12.
    lead = make_role(Role.Kind.LEAD, make_organisation())
    standard = shipped("dutchman", lead)
    sums = {each.sum: each for each in sheet_of(standard.program, standard.document).sums}
    vibration = " ".join(text for pair in sums["vibration"].results for text in pair)
    for wanted in ("36", "54", "90"):
        assert wanted in vibration
    told = " ".join(text for pair in sums["vibration"].inputs for text in pair)
    for wanted in ("Grinder", "30 min", "Drill", "20 min", "tool's maker"):
        assert wanted in told
    silica = " ".join(text for pair in sums["silica"].results for text in pair)
    assert "10.4" in silica
    assert "29 CFR 1926.1153" in sums["silica"].working
    assert "local codes come first" in sums["vibration"].working
