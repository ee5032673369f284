"""Checking a file on the public page, in a real browser."""

import json
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from certificates.actions.issue import issue_record
from tests.assessments.builders import make_yard
from tests.certificates.builders import file_of, met_decision

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
AXE = Path(__file__).parent / "axe/axe.min.js"


@pytest.fixture
def files(transactional_db: None, data_in_a_folder_of_its_own: None, tmp_path: Path) -> Path:
    """A record as it was issued, and the same altered: made before the browser starts."""
    yard = make_yard()
    pdf = file_of(issue_record(actor=yard.lead, decision=met_decision(yard)))
    changed = bytearray(pdf)
    changed[len(pdf) // 2] ^= 1
    (tmp_path / "genuine.pdf").write_bytes(pdf)
    (tmp_path / "altered.pdf").write_bytes(bytes(changed))
    return tmp_path


def test_a_file_is_checked_without_an_account(files: Path, site: str, chromium: Browser) -> None:
    for width in (360, 820, 1280):
        page = chromium.new_page(viewport={"width": width, "height": 900})
        for name, heading in (
            ("genuine", "This file is genuine and the record holds today"),
            ("altered", "This file cannot be vouched for"),
        ):
            page.goto(f"{site}/check/")
            page.get_by_role("link", name="Check the file itself").click()
            page.get_by_label("PDF file of the record").set_input_files(files / f"{name}.pdf")
            page.get_by_role("button", name="Check this file").click()
            expect(page.get_by_role("heading", level=1)).to_have_text(heading)
            expect(page.get_by_role("heading", name="What was not")).to_be_visible()
            page.evaluate(AXE.read_text())
            found = page.evaluate("axe.run()")
            assert found["violations"] == [], json.dumps(found["violations"], indent=1)[:3000]
            assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        page.close()
