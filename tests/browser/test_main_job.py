"""One trainee, from the scoring page to the check page, in a real browser at phone width."""

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from assessments.models import Attempt, Observation
from certificates.demo.story import read_scenario
from certificates.keys import known_roots
from certificates.models import Record
from certificates.signing import verify
from tests.world import told

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
TRAINEE = "soren.tarnby@example.org"
JOINT = ['3/32"', "5/64", "7/64 in", "2.4 mm", "3/32", "0.1 in", "3/32", "3/32"]


@pytest.fixture
def world(transactional_db: None, data_in_a_folder_of_its_own: None, tmp_path: Path) -> Any:
    with told(tmp_path, only="soren"):
        yield read_scenario()


def test_from_scoring_to_the_check_page(world: dict[str, Any], site: str, phone: Page) -> None:
    attempt = Attempt.objects.get(enrolment__person__email=TRAINEE)
    sign_in(phone, site, "tomasz.wieland@example.org", world["password"])
    phone.goto(f"{site}/attempts/{attempt.pk}/score/")

    score = Scoring(phone, f"{site}/attempts/{attempt.pk}/score")
    score.press("hold_point/dry_fit", "Accepted")
    score.read("pin_hole", ["0.520", "0.523", "0.518", "33/64"])
    score.read("hole_depth", ["0.845", "27/32"])
    score.read("joint_width", [*JOINT[:-1], "wide"], refused="reading")
    assert not Observation.objects.filter(attempt=attempt, subject_key="joint_width").exists()
    for index, text in enumerate(JOINT[:-1]):
        expect(phone.locator(f"[name=reading_{index}]")).to_have_value(text)
    score.read("joint_width", JOINT)
    score.read("face_step", ["0.010", "0.012", "0.008", "0.3 mm"])
    score.count("voids", "0")
    score.level("arris", 3)
    score.level("tooling", 2)
    score.level("color", 1)
    score.level("color", 2)  # a correction
    score.times("protected", "2026-11-23T08:00:00", "2026-11-24T09:30:00")

    first, second = Observation.objects.filter(attempt=attempt, subject_key="color").order_by(
        "received_at"
    )
    assert (first.value, second.value, second.replaces_id) == ({"level": 1}, {"level": 2}, first.pk)

    phone.goto(f"{site}/attempts/{attempt.pk}/decide/")
    phone.fill("[name=password]", "not this one")
    phone.get_by_role("button", name="Sign off").click()
    expect(phone.get_by_text("This is not your password").first).to_be_visible()
    phone.fill("[name=password]", world["password"])
    phone.get_by_role("button", name="Sign off").click()
    phone.wait_for_url(f"**/attempts/{attempt.pk}/")
    decision = attempt.decisions.get()
    assert decision.result == "met"

    phone.goto(f"{site}/runs/{attempt.enrolment.run_id}/")
    row = phone.locator("tr", has_text="Søren Tårnby")
    row.get_by_role("button", name="Issue the record").click()
    phone.wait_for_load_state()
    record = Record.objects.get(decision=decision)
    with record.pdf.open() as file:
        verdict = verify(file.read(), known_roots())
    assert verdict.faults == []
    assert verdict.record is not None
    assert verdict.record["holder"] == {"name": "Søren Tårnby"}

    check_as_a_stranger(phone, site, record.number)


def sign_in(page: Page, address: str, email: str, password: str) -> None:
    page.goto(f"{address}/sign-in/")
    page.fill("[name=username]", email)
    page.fill("[name=password]", password)
    page.press("[name=password]", "Enter")
    page.wait_for_url(f"{address}/")


def check_as_a_stranger(page: Page, address: str, number: str) -> None:
    """Type the number as somebody would who has only the paper, and is not signed in."""
    page.context.clear_cookies()
    page.goto(f"{address}/check/")
    page.fill("[name=number]", number.lower().replace("-", " "))
    page.press("[name=number]", "Enter")
    page.wait_for_url(f"**/check/{number}/")
    expect(page.get_by_role("heading", level=1)).to_contain_text("genuine")
    body = page.inner_text("main")
    assert "Søren Tårnby" in body
    assert TRAINEE not in body
    assert "certified" not in body.lower()


class Scoring:
    """What an instructor does on the scoring pages, one subject a screen."""

    def __init__(self, page: Page, address: str) -> None:
        self.page = page
        self.address = address

    def press(self, path: str, key: str) -> None:
        self._open(path)
        self.page.get_by_role("button", name=key, exact=False).first.click()
        self._saved()

    def level(self, key: str, level: int) -> None:
        self._open(f"criterion/{key}")
        self.page.locator(f"button[name=level][value='{level}']").click()
        self._saved()

    def count(self, key: str, count: str) -> None:
        self._open(f"criterion/{key}")
        self.page.fill("[name=count]", count)
        self.page.get_by_role("button", name="Save the count").click()
        self._saved()

    def times(self, key: str, start: str, end: str) -> None:
        self._open(f"criterion/{key}")
        self.page.fill("[name=start]", start)
        self.page.fill("[name=end]", end)
        self.page.get_by_role("button", name="Save the times").click()
        self._saved()

    def read(self, key: str, readings: list[str], *, refused: str = "") -> None:
        self._open(f"criterion/{key}")
        for index, text in enumerate(readings):
            self.page.fill(f"[name=reading_{index}]", text)
        self.page.get_by_role("button", name="Save the readings").click()
        if refused:
            expect(self.page.locator("[aria-invalid=true]")).to_have_count(1)
        else:
            self._saved()

    def _open(self, path: str) -> None:
        self.page.goto(f"{self.address}/{path}/")

    def _saved(self) -> None:
        expect(self.page.locator("[role=status]").first).to_be_visible()
        assert self.page.evaluate("() => document.documentElement.scrollWidth") <= 360
