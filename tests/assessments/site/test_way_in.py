"""The way from the first page to scoring on site, for who may take a run up."""

import pytest
from django.test import Client
from django.urls import reverse

from tests.assessments.builders import make_yard
from training.models import CourseRun, Person

pytestmark = pytest.mark.django_db


def signed_in(person: Person) -> Client:
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


def test_the_first_page_leads_assessors_of_an_open_run_to_the_site() -> None:
    yard = make_yard()
    link = f'<a class="btn" href="{reverse("site")}">Take to site</a>'

    def shown() -> list[int]:
        people = (yard.lead, yard.instructor, yard.trainee)
        pages = [signed_in(each).get(reverse("home")).content.decode() for each in people]
        return [page.count(link) for page in pages]

    # Those whom site_packs answers with the run.
    listed = [
        len(signed_in(each).get(reverse("site_packs")).json()["runs"])
        for each in (yard.lead, yard.instructor, yard.trainee)
    ]
    assert shown() == listed == [1, 1, 0]
    CourseRun.objects.update(state=CourseRun.State.CLOSED)
    assert shown() == [0, 0, 0]
    CourseRun.objects.update(state=CourseRun.State.PLANNED)
    assert shown() == [0, 0, 0]
