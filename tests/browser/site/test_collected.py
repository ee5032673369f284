"""The pages as a deployment answers them: one small script does what the modules do."""

from collections.abc import Iterator
from typing import Any

import pytest
from django.test import Client
from playwright.sync_api import Browser, expect
from pytest_django.live_server_helper import LiveServer

from assessments.models import Observation
from tests.browser.site.scoring import Scorer, World, phone_of
from tests.collected import collect

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
SCRIPTS = "() => [...document.scripts].map(({ src }) => new URL(src).pathname)"
ASKED = """() => performance.getEntriesByType("resource")
  .filter(({ name }) => name.endsWith(".js")).map(({ name }) => new URL(name).pathname)"""


@pytest.fixture
def collected_site(
    transactional_db: None,
    data_in_a_folder_of_its_own: None,
    settings: Any,
    monkeypatch: pytest.MonkeyPatch,
) -> Iterator[str]:
    """Serve what was collected, by WhiteNoise, as a deployment does; yields the address."""
    collect(settings)
    # The test server would answer with the sources itself.
    monkeypatch.setattr("django.contrib.staticfiles.handlers.StaticFilesHandler", lambda app: app)
    server = LiveServer("127.0.0.1")
    yield server.url
    server.stop()


def test_the_small_pages_open_and_score_without_a_signal(
    chromium: Browser, collected_site: str
) -> None:
    world = World()
    context = phone_of(chromium)
    scorer = Scorer(context, collected_site)
    policy = Client().get("/site/")["Content-Security-Policy"]
    assert "'unsafe" not in policy
    scorer.sign_in(world.instructor)
    scorer.take()
    [script] = scorer.page.evaluate(SCRIPTS)

    context.set_offline(True)
    scorer.page.reload()
    scorer.heading(world.program.title)
    assert scorer.page.evaluate(ASKED) == [script]
    assert scorer.page.evaluate(
        "async () => (await document.fonts.load('700 20px Commissioner'))"
        ".map(({ status }) => status)"
    ) == ["loaded"]
    attempt = world.attempt()
    scorer.open(f"attempt/{attempt.pk}/criterion/work_safe")
    scorer.tap("Yes")
    scorer.saved("Controls in place before the first cut")
    scorer.open(f"attempt/{attempt.pk}/criterion/cavity_depth")
    for mark in ("3 1/32", "3 1/16", "3 3/64", "3 1/16"):
        scorer.tap(mark)
    scorer.saved("Depth of the cavity")
    scorer.page.reload()
    assert [event["seq"] for event in scorer.events()] == [1, 2]

    context.set_offline(False)
    expect(scorer.page.get_by_text("Saved on this phone · all sent")).to_be_visible(timeout=30_000)
    stored = Observation.objects.filter(attempt=attempt)
    assert {each.subject_key for each in stored} == {"work_safe", "cavity_depth"}
    context.close()
    assert scorer.complaints == []
