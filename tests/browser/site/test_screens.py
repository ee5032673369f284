"""The scoring screens on a phone without a signal, from taking the run to the server's decision."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, expect

from assessments.models import Attempt, Observation
from tests.browser.site.scoring import Scorer, World, phone_of

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def world(transactional_db: None, data_in_a_folder_of_its_own: None) -> World:
    return World()


@pytest.fixture
def scorer(chromium: Browser, site: str, world: World) -> Iterator[Scorer]:
    """Somebody who has taken the run to the site, and stands there without a signal."""
    context = phone_of(chromium)
    scorer = Scorer(context, site)
    scorer.sign_in(world.instructor)
    scorer.take()
    yield scorer
    context.close()
    assert scorer.complaints == []


def score_whole_dutchman(scorer: Scorer) -> None:
    """Fourteen criteria, six of them measured with 25 readings, and two hold points."""
    scorer.tap("Yes")
    for mark in ("3 1/32", "3 1/16", "3 3/64", "3 1/16"):
        scorer.tap(mark)
    scorer.tap("Save, then", exact=False)
    scorer.level(2)
    scorer.tap("Accepted")
    scorer.tap("Yes")
    # Both limits lie between 5 and 6 in, between 0 and 1 in: the whole number stands there.
    for decimals in (["812", "815", "810"], ["520", "523", "518", "521"]):
        for each in decimals:
            scorer.digits(each)
        scorer.tap("Save, then", exact=False)
    for reading in (".845", ".860"):
        scorer.digits(reading)
    scorer.tap("Save, then", exact=False)
    scorer.tap("Accepted")
    for mark in ("3/32", "3/32", "7/64", "3/32", "5/64", "3/32", "3/32", "7/64"):
        scorer.tap(mark)
    scorer.tap("Save, then", exact=False)
    for decimals in ("010", "012", "008", "015"):
        scorer.digits(decimals)
    scorer.tap("Save, then", exact=False)
    scorer.tap("Save the count")
    for level in (2, 3, 2):
        scorer.level(level)
    scorer.page.fill("#time-start", "2026-11-23T08:00:00")
    scorer.page.fill("#time-end", "2026-11-24T09:30:00")
    scorer.tap("Save the times")


def test_a_whole_attempt_without_a_signal_arrives(scorer: Scorer, world: World) -> None:
    attempt = world.attempt()
    scorer.context.set_offline(True)
    scorer.page.reload()
    scorer.heading(world.program.title)
    scorer.open(f"attempt/{attempt.pk}")
    scorer.tap("Start:", exact=False)
    scorer.taps = scorer.scrolls = 0
    score_whole_dutchman(scorer)
    expect(scorer.page.get_by_text("Everything is scored.", exact=False)).to_be_visible()
    print("TAPS", scorer.taps, "SCROLLS", scorer.scrolls)
    expect(scorer.page.get_by_text("Saved on this phone · 16 to send")).to_be_visible()
    assert not Observation.objects.filter(attempt=attempt).exists()
    scorer.context.set_offline(False)
    expect(scorer.page.get_by_text("Saved on this phone · all sent")).to_be_visible(timeout=30_000)
    assert Observation.objects.filter(attempt=attempt).count() == 16
    assert Attempt.objects.get(pk=attempt.pk).state == "open"


def screens_of(world: World) -> Iterator[str]:
    """The address of every screen."""
    attempt = world.attempt()
    yield ""
    yield "leave"
    yield f"attempt/{attempt.pk}"
    yield f"attempt/{attempt.pk}/hold_point/cavity"
    for row in world.standard.document["criteria"]:
        if row["stage"] == "cavity" or row["key"] in ("joint_width", "piece_width"):
            yield f"attempt/{attempt.pk}/criterion/{row['key']}"
    for key in ("voids", "tooling", "protected"):
        yield f"attempt/{attempt.pk}/criterion/{key}"


@pytest.mark.parametrize("size", [(360, 740), (740, 360), (820, 1180), (1280, 800)])
def test_keys_are_large_apart_and_dark_on_every_screen(
    scorer: Scorer, world: World, size: tuple[int, int]
) -> None:
    scorer.page.set_viewport_size({"width": size[0], "height": size[1]})
    attempt = world.attempt()
    for stage in ("cavity", "dry_fit"):
        scorer.open(f"attempt/{attempt.pk}/hold_point/{stage}")
        scorer.tap("Accepted")
        expect(scorer.page.locator(".last")).to_contain_text("Hold point")
    for path in screens_of(world):
        scorer.open(path)
        found = scorer.measured()
        assert found.pop("count") > 0
        assert found == {
            "small": [],
            "near": [],
            "pale": [],
            "light": [],
            "sideways": 0,
        }, path
        assert scorer.faults() == [], path
