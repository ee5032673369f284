"""Who sees what of a report, and what its pages say."""

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from assessments.actions.reports import ask_for_file
from assessments.models import ReportFile
from tests.assessments.builders import Yard, make_yard
from tests.assessments.trainingreport.builders import photograph
from training.models import LogPhoto, Person

pytestmark = pytest.mark.django_db


@pytest.fixture
def yard() -> Yard:
    return make_yard()


def signed_in(person: Person) -> Client:
    client = Client()
    client.force_login(person)
    return client


def addresses(yard: Yard, photo: LogPhoto, file: ReportFile) -> list[str]:
    run = yard.run.pk
    return [
        reverse("run_report", args=[run]),
        reverse("run_report_preview", args=[run]),
        reverse("run_report_stage", args=[run, "set"]),
        reverse("run_report_stage", args=[run, "-"]),
        reverse("report_picture", args=[run, f"log-{photo.pk}"]),
        reverse("report_file", args=[file.pk]),
    ]


def test_leads_and_instructors_of_the_run_see_it_nobody_else_learns_of_it(yard: Yard) -> None:
    file = ask_for_file(actor=yard.lead, run=yard.run, paper="letter")
    pages = addresses(yard, photograph(yard), file)
    for person in (yard.lead, yard.instructor):
        client = signed_in(person)
        assert [client.get(page).status_code for page in pages] == [200] * len(pages)
    for person in (yard.trainee, make_yard().lead, make_yard().instructor):
        client = signed_in(person)
        assert [client.get(page).status_code for page in pages] == [404] * len(pages)
        made = reverse("run_report_make", args=[yard.run.pk])
        assert client.post(made).status_code == 404


def test_a_photograph_comes_small_and_to_nobody_by_another_runs_address(yard: Yard) -> None:
    other = make_yard()
    photo = photograph(other)
    client = signed_in(yard.lead)
    for picture in (f"log-{photo.pk}", "log-nonsense", "attempt-1", "nothing"):
        assert client.get(reverse("report_picture", args=[yard.run.pk, picture])).status_code == 404
    own = reverse("report_picture", args=[other.run.pk, f"log-{photo.pk}"])
    answer = signed_in(other.lead).get(own)
    assert answer["Content-Type"] == "image/jpeg"
    assert answer["X-Content-Type-Options"] == "nosniff"


def test_the_page_of_a_file_tells_how_far_it_is(yard: Yard) -> None:
    client = signed_in(yard.lead)
    answer = client.post(reverse("run_report_make", args=[yard.run.pk]), {"paper": "a4"})
    file = ReportFile.objects.get()
    page = reverse("report_file", args=[file.pk])
    assert answer["Location"] == page
    assert file.document["paper"] == "a4"
    # Asked for again while it waits, it is the same one.
    client.post(reverse("run_report_make", args=[yard.run.pk]), {"paper": "a4"})
    assert ReportFile.objects.count() == 1
    text = client.get(page).content.decode()
    assert 'data-progress="running"' in text
    assert f"0 of {file.parts} steps done" in text
    assert '<noscript><meta http-equiv="refresh"' in text
    assert client.get(reverse("report_file_pdf", args=[file.pk])).status_code == 404
    ReportFile.objects.update(state="failed", error="The reason.", taken_at=timezone.now())
    text = client.get(page).content.decode()
    assert "The reason." in text
    assert 'data-progress="still"' in text


def test_a_paper_that_there_is_not_is_refused_in_words(yard: Yard) -> None:
    client = signed_in(yard.lead)
    made = reverse("run_report_make", args=[yard.run.pk])
    page = client.post(made, {"paper": "folio"}, follow=True).content.decode()
    assert "There is no paper “folio” here" in page
    assert not ReportFile.objects.exists()


@pytest.mark.parametrize("number", [1, 3])
def test_the_number_of_queries_does_not_grow(
    yard: Yard, number: int, django_assert_max_num_queries: object
) -> None:
    for place in range(number):
        photograph(yard, caption=f"Seen {place}")
    client = signed_in(yard.lead)
    for page, most in (("run_report", 30), ("run_report_preview", 45)):
        with django_assert_max_num_queries(most):  # type: ignore[operator]
            client.get(reverse(page, args=[yard.run.pk]))
