"""From a trainee's results to progress, and to a complaint about conduct or safety."""

import pytest
from django.test import Client
from django.urls import reverse

from tests.assessments.reviews.builders import asked, decided

pytestmark = pytest.mark.django_db


def test_results_lead_to_progress_and_to_a_complaint(client: Client) -> None:
    made = decided(C3={"answer": False})
    client.force_login(made.yard.trainee)
    progress = f'href="{reverse("progress", args=[made.yard.enrolment.pk])}"'
    complaint = f'href="{reverse("complaint_new", args=[made.yard.run.pk])}"'
    assert progress in client.get(reverse("my_results")).text
    result = reverse("attempt", args=[made.attempt.pk])
    text = client.get(result).text
    assert progress in text
    assert text.count(complaint) == 1
    assert "it takes another road" in text
    # While a review is under way the other road stays open.
    asked(made)
    assert client.get(result).text.count(complaint) == 1
    for opened in (progress, complaint):
        assert client.get(opened[6:-1]).status_code == 200
    # Who assesses is not asked to complain here.
    client.force_login(made.yard.instructor)
    assert complaint not in client.get(result).text
