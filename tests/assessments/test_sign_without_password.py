"""Whoever signs in without a password still signs a result by one."""

import pytest
from django.test import Client
from django.urls import reverse

from assessments.models import Decision
from tests.assessments.builders import make_yard, score_all
from tests.factories import PASSWORD
from training.actions.passwords import set_password

pytestmark = pytest.mark.django_db
TO_ACCOUNT = 'href="/account/#signing-in"'


@pytest.mark.parametrize("typed", ["", PASSWORD])
def test_a_result_is_not_signed_without_a_password(typed: str) -> None:
    yard = make_yard()
    yard.instructor.set_unusable_password()
    yard.instructor.save()
    attempt = yard.attempt()
    score_all(attempt, yard.instructor)
    client = Client()
    client.force_login(yard.instructor)
    address = reverse("attempt_decide", args=[attempt.pk])
    page = client.get(address)
    assert TO_ACCOUNT in page.content.decode()
    values = {"seen": page.context["seen"], "note": "Kept words", "password": typed}
    refused = client.post(address, values)
    assert refused.status_code == 422
    assert "set one under My account" in str(refused.context["form"].errors["password"])
    assert "Kept words" in refused.content.decode()
    assert not Decision.objects.exists()
    set_password(person=yard.instructor, password=PASSWORD)
    client.force_login(yard.instructor)
    page = client.get(address)
    assert TO_ACCOUNT not in page.content.decode()
    assert client.post(address, {**values, "password": PASSWORD}).status_code == 302
    assert Decision.objects.count() == 1
