"""The scoring screens on a phone without a signal, from taking the run to the server's decision."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, expect

from assessments.models import Attempt, Observation
from tests.browser.site.scoring import Scorer, World, phone_of
from tests.faults.marks import at_length, only_at_length

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
    scorer.level(2)
    scorer.tap("Accepted")
    scorer.tap("Yes")
    # Both limits lie between 5 and 6 in, between 0 and 1 in: the whole number stands there.
    for decimals in (["812", "815", "810"], ["520", "523", "518", "521"]):
        for decimal in decimals:
            scorer.digits(decimal)
    for reading in (".845", ".860"):
        scorer.digits(reading)
    scorer.tap("Accepted")
    for mark in ("3/32", "3/32", "7/64", "3/32", "5/64", "3/32", "3/32", "7/64"):
        scorer.tap(mark)
    for decimal in ("010", "012", "008", "015"):
        scorer.digits(decimal)
    scorer.tap("Save the count")
    for level, title in ((2, "Crispness"), (3, "Tooling"), (2, "Match of color")):
        scorer.level(level)
        expect(scorer.page.locator(".last")).to_contain_text(title)
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
    scorer.taps = scorer.scrolls = scorer.scrolled = 0
    score_whole_dutchman(scorer)
    expect(scorer.page.get_by_text("Everything is scored.", exact=False)).to_be_visible()
    # 53 for 25 readings: one a reading on a rule, three or four on a caliper to 0.001 in. Ten for
    # all else, where the two times are written into their fields.
    assert scorer.taps == 63
    assert (scorer.scrolls, scorer.scrolled) == (0, 0)
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


@pytest.mark.parametrize(
    "sizes", [[(360, 740), (740, 360)], *at_length([(820, 1180), (1280, 800)])]
)
def test_keys_are_large_apart_and_dark_on_every_screen(
    scorer: Scorer, world: World, sizes: list[tuple[int, int]]
) -> None:
    attempt = world.attempt()
    titles = {row["key"]: row["title"] for row in world.standard.document["stages"]}
    for stage in ("cavity", "dry_fit"):
        scorer.open(f"attempt/{attempt.pk}/hold_point/{stage}")
        scorer.tap("Accepted")
        # By its title: what was saved before still stands there until then.
        expect(scorer.page.locator(".last")).to_contain_text(titles[stage])
    for path in screens_of(world):
        scorer.open(path)
        for width, height in sizes:
            scorer.page.set_viewport_size({"width": width, "height": height})
            found = scorer.measured()
            assert found.pop("count") > 0
            assert found == {
                "small": [],
                "near": [],
                "pale": [],
                "light": [],
                "sideways": 0,
            }, (path, width)
        assert scorer.faults() == [], path


@only_at_length
def test_undo_takes_back_and_goes_there(scorer: Scorer, world: World) -> None:
    attempt = world.attempt()
    scorer.open(f"attempt/{attempt.pk}/criterion/work_safe")
    scorer.tap("Yes")
    scorer.saved("Controls in place before the first cut")
    scorer.tap("Undo: Controls in place before the first cut")
    scorer.heading("Controls in place before the first cut")
    expect(scorer.page.locator("[aria-pressed=true]")).to_have_count(0)
    first, second = scorer.events()
    assert (first["value"], second["value"]) == ({"answer": True}, {"cleared": True})
    assert (second["replaces"], second["seq"]) == (first["id"], first["seq"] + 1)


def test_a_critical_no_stays_in_sight_and_says_what_to_do(scorer: Scorer, world: World) -> None:
    attempt = world.attempt()
    scorer.open(f"attempt/{attempt.pk}/criterion/work_safe")
    scorer.tap("No")
    status = scorer.page.locator(".say[role=status]")
    expect(status).to_contain_text("✕ Not met")
    expect(status).to_contain_text("as it stands, the standard is not met, whatever else is scored")
    expect(status).to_contain_text("stop the work and make it safe")
    scorer.heading("Controls in place before the first cut")


@only_at_length
def test_what_follows_a_hold_point_waits_for_it(scorer: Scorer, world: World) -> None:
    attempt = world.attempt()
    scorer.open(f"attempt/{attempt.pk}/criterion/bedding")
    expect(scorer.page.get_by_text("Stop: this waits for", exact=False)).to_be_visible()
    expect(scorer.page.get_by_role("button", name="Yes")).to_have_count(0)
    scorer.tap("Go to the hold point")
    scorer.tap("Not accepted")
    expect(scorer.page.get_by_text("mend it, then look again", exact=False)).to_be_visible()
    scorer.tap("Accepted")
    scorer.saved("Hold point: Cavity set out and cut")
    scorer.heading("Bedding of the piece as in the wall")
    scorer.tap("Yes")
    scorer.saved("Bedding of the piece as in the wall")


def test_readings_not_yet_saved_survive_a_reload(scorer: Scorer, world: World) -> None:
    attempt = world.attempt()
    scorer.open(f"attempt/{attempt.pk}/criterion/cavity_depth")
    scorer.tap("3 1/32")
    scorer.tap("Erase, other")
    scorer.tap("3")
    scorer.tap("Parts of an inch")
    scorer.tap("3 1/8")
    expect(scorer.page.locator(".now")).to_contain_text("2 of 4: 3 1/8")
    scorer.page.reload()
    expect(scorer.page.locator(".now")).to_contain_text("2 of 4: 3 1/8")
    expect(scorer.page.locator(".taken")).to_have_text("1: 3 1/32")
    assert scorer.events() == []
    scorer.tap("Erase, other")
    scorer.tap("Take reading")
    expect(scorer.page.locator(".taken")).to_have_text("1: 3 1/32  2: 3 1/8")


@only_at_length
def test_a_start_survives_a_reload_and_the_end_saves_both(scorer: Scorer, world: World) -> None:
    attempt = world.attempt()
    titles = {row["key"]: row["title"] for row in world.standard.document["stages"]}
    for stage in ("cavity", "dry_fit"):
        scorer.open(f"attempt/{attempt.pk}/hold_point/{stage}")
        scorer.tap("Accepted")
        # By its title: what was saved before still stands there until then.
        expect(scorer.page.locator(".last")).to_contain_text(titles[stage])
    scorer.open(f"attempt/{attempt.pk}/criterion/protected")
    scorer.tap("Start now")
    expect(scorer.page.get_by_text("Started, but the end is not noted.")).to_be_visible()
    start = scorer.page.input_value("#time-start")
    scorer.page.reload()
    expect(scorer.page.locator("#time-start")).to_have_value(start)
    scorer.tap("End now")
    scorer.saved("Protected from the weather")
    begun, ended = scorer.events()[-2:]
    assert set(begun["value"]) == {"start"}
    assert (set(ended["value"]), ended["replaces"]) == ({"start", "end"}, begun["id"])
    # Site and phone are in New York, where standard time is five hours behind UTC.
    assert ended["value"]["start"] == f"{start}-05:00"


def test_whoever_leaves_locks_what_is_not_sent(scorer: Scorer, world: World) -> None:
    attempt = world.attempt()
    scorer.context.set_offline(True)
    scorer.open(f"attempt/{attempt.pk}/criterion/work_safe")
    scorer.tap("Yes")
    scorer.saved("Controls in place before the first cut")
    scorer.open("leave")
    expect(scorer.page.get_by_text("1 entry to send", exact=False)).to_be_visible()
    scorer.tap("Sign out, keep what waits")
    expect(scorer.page.get_by_role("heading", name="Locked")).to_be_visible()
    scorer.open(f"attempt/{attempt.pk}")
    scorer.heading("Not on this phone")
    assert [event["sent"] for event in scorer.events()] == [0]
    scorer.context.set_offline(False)
    expect(scorer.page.get_by_text("Saved on this phone · all sent")).to_be_visible(timeout=30_000)
    assert Observation.objects.filter(attempt=attempt).count() == 1
