"""The page of a run's records shows in a real browser how far they are, without a reload."""

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from certificates.models import IssueItem
from tests.assessments.builders import make_yard
from tests.browser.test_main_job import sign_in
from tests.certificates.builders import met_decision, record_row
from tests.factories import PASSWORD

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
PATIENCE = 60_000  # milliseconds


def test_the_row_of_a_record_changes_on_the_open_page(site: str, phone: Page) -> None:
    yard = make_yard()
    decision = met_decision(yard)
    sign_in(phone, site, yard.lead.email, PASSWORD)
    phone.goto(f"{site}{reverse('run_records', args=[yard.run.pk])}")
    phone.get_by_role("button", name="Issue 1 record").click()
    row = phone.get_by_role("row").filter(has_text=yard.trainee.full_name)
    expect(row).to_contain_text("In the queue", timeout=PATIENCE)
    phone.evaluate("window.notReloaded = true")
    IssueItem.objects.update(state="working")
    expect(row).to_contain_text("Being made", timeout=PATIENCE)
    record = record_row(decision)
    IssueItem.objects.update(state="issued", record=record)
    expect(row).to_contain_text(record.number, timeout=PATIENCE)
    expect(phone.get_by_text("Nothing is left to do.")).to_be_visible()
    assert phone.evaluate("window.notReloaded")
