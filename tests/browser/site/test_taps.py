"""Few presses and no scrolling: by the shape of an assessment, and by its readings."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from tests.browser.site.scoring import PHONE, Scorer, World, in_sight, phone_of
from tests.faults.marks import at_length, only_at_length

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

SHORT = Path(__file__).parent / "programs" / "short.yaml"
ON_ITS_SIDE = (740, 360)
TABLETS = [(820, 1180), (1280, 820)]
Start = Callable[..., tuple[Scorer, World]]


@pytest.fixture
def start(
    chromium: Browser, site: str, transactional_db: None, data_in_a_folder_of_its_own: None
) -> Iterator[Start]:
    """Take a run of a program's file to the site, on a screen of some size."""
    scorers = []

    def begin(file: str | Path, size: tuple[int, int] = PHONE) -> tuple[Scorer, World]:
        world = World(file)
        scorer = Scorer(phone_of(chromium, size), site)
        scorers.append(scorer)
        scorer.sign_in(world.instructor)
        scorer.take()
        return scorer, world

    yield begin
    for scorer in scorers:
        scorer.context.close()
        assert scorer.complaints == []


def score_fourteen(scorer: Scorer) -> None:
    """Four measured with one reading each, on four instruments, and ten others; one hold point."""
    scorer.tap("Yes")
    scorer.tap("1/4")
    scorer.digits("11")
    scorer.tap("Parts of an inch")
    scorer.tap("11 3/4")
    scorer.tap("11 49/64")
    scorer.digits("22")
    scorer.tap("Parts of an inch")
    scorer.tap("22 3/8")
    scorer.digits("731")
    scorer.level(2)
    scorer.level(3)
    scorer.tap("One more")
    scorer.tap("Save the count")
    scorer.tap("Accepted")
    scorer.tap("Yes")
    scorer.saved("The cavity is clean")
    scorer.tap("Yes")
    scorer.level(2)
    scorer.saved("Tooling carried through")
    scorer.level(2)
    scorer.tap("Save the count")
    scorer.tap("Start now")
    expect(scorer.page.get_by_text("Started, but the end is not noted.")).to_be_visible()
    scorer.tap("End now")


@pytest.mark.parametrize("size", [PHONE, *at_length(*TABLETS)])
def test_fourteen_criteria_take_under_thirty_presses(start: Start, size: tuple[int, int]) -> None:
    scorer, world = start(SHORT, size)
    kinds = [row["kind"] for row in world.standard.document["criteria"]]
    assert (len(kinds), kinds.count("measured")) == (14, 4)
    scorer.open(f"attempt/{world.attempt().pk}/criterion/plan")
    scorer.taps = 0
    score_fourteen(scorer)
    expect(scorer.page.get_by_text("Everything is scored.", exact=False)).to_be_visible()
    assert scorer.taps == 26
    assert (scorer.scrolls, scorer.scrolled) == (0, 0)
    values = {event["subject"]["key"]: event["value"] for event in scorer.events()}
    typed = [values[key]["readings"][0]["typed"] for key in ("joint", "length", "height", "depth")]
    assert typed == ["1/4", "11 49/64", "22 3/8", "5.731"]
    assert (values["chips"], values["square"]) == ({"count": 1}, {"level": 2})


@only_at_length
def test_a_phone_on_its_side_needs_no_scrolling(start: Start) -> None:
    scorer, world = start(SHORT, ON_ITS_SIDE)
    scorer.open(f"attempt/{world.attempt().pk}/criterion/plan")
    score_fourteen(scorer)
    expect(scorer.page.get_by_text("Everything is scored.", exact=False)).to_be_visible()
    assert (scorer.scrolls, scorer.scrolled) == (0, 0)


def undo_lies_in_sight(scorer: Scorer) -> bool:
    scorer.settled()
    box = scorer.page.get_by_role("button", name="Undo").bounding_box()
    assert scorer.page.evaluate("() => window.scrollY") == 0
    return in_sight(box, scorer.page.viewport_size)


@pytest.mark.parametrize("sizes", [[PHONE, ON_ITS_SIDE], *at_length([(360, 640), *TABLETS])])
def test_undo_is_in_sight_on_every_screen_of_an_attempt(
    start: Start, sizes: list[tuple[int, int]]
) -> None:
    scorer, world = start(SHORT, sizes[0])
    attempt = f"attempt/{world.attempt().pk}"
    scorer.open(f"{attempt}/hold_point/first")
    scorer.tap("Accepted")
    scorer.saved("Hold point: Set out")
    for width, height in sizes:
        scorer.page.set_viewport_size({"width": width, "height": height})
        for path in (
            "/hold_point/first",
            *(f"/criterion/{row['key']}" for row in world.standard.document["criteria"]),
            "",
        ):
            scorer.open(attempt + path)
            assert undo_lies_in_sight(scorer), (path, width)


@only_at_length
def test_undo_gives_back_all_readings_but_the_last(start: Start) -> None:
    scorer, world = start("dutchman.yaml")
    scorer.open(f"attempt/{world.attempt().pk}/criterion/cavity_depth")
    scorer.page.fill("#note", "Read at the back")
    for mark in ("3 1/32", "3 1/16", "3 3/64", "3 1/8"):
        scorer.tap(mark)
    scorer.saved("Depth of the cavity")
    scorer.tap("Undo: Depth of the cavity")
    expect(scorer.page.locator(".taken")).to_have_text("1: 3 1/32  2: 3 1/16  3: 3 3/64")
    expect(scorer.page.locator(".now")).to_contain_text("4 of 4: ▁")
    expect(scorer.page.locator("#note")).to_have_value("Read at the back")
    assert scorer.events()[-1]["value"] == {"cleared": True}
    scorer.page.reload()
    scorer.tap("3 3/32")
    scorer.saved("Depth of the cavity")
    last = scorer.events()[-1]
    assert [reading["typed"] for reading in last["value"]["readings"]] == [
        "3 1/32",
        "3 1/16",
        "3 3/64",
        "3 3/32",
    ]
    assert last["note"] == "Read at the back"


@only_at_length
def test_undo_of_the_last_digit_leaves_the_others(start: Start) -> None:
    scorer, world = start(SHORT)
    scorer.open(f"attempt/{world.attempt().pk}/criterion/depth")
    scorer.digits("731")
    scorer.tap("Undo: Depth of the piece at the back")
    expect(scorer.page.locator(".now")).to_contain_text("1 of 1: 5.73▁")


@only_at_length
def test_undo_brings_back_what_was_recorded_before(start: Start) -> None:
    scorer, world = start(SHORT)
    path = f"attempt/{world.attempt().pk}/criterion/square"
    scorer.open(path)
    scorer.page.fill("#note", "By torch")
    scorer.level(2)
    scorer.saved("Back square, sides true, arrises whole")
    scorer.open(path)
    scorer.level(3)
    scorer.saved("Back square, sides true, arrises whole")
    scorer.tap("Undo", exact=False)
    expect(scorer.page.locator("[aria-pressed=true] .points")).to_have_text("2")
    scorer.tap("Take back what is recorded")
    expect(scorer.page.locator(".last")).to_contain_text("Taken back:")
    scorer.tap("Undo", exact=False)
    expect(scorer.page.locator("[aria-pressed=true] .points")).to_have_text("2")
    values = [(event["value"], event["note"]) for event in scorer.events()]
    kept = ({"level": 2}, "By torch")
    assert values == [kept, ({"level": 3}, "By torch"), kept, ({"cleared": True}, "By torch"), kept]


@only_at_length
def test_readings_that_do_not_conform_stay_in_sight(start: Start) -> None:
    scorer, world = start(SHORT)
    scorer.open(f"attempt/{world.attempt().pk}/criterion/joint")
    scorer.tap("7/16")
    expect(scorer.page.locator(".now")).to_have_text("✕ Does not conform")
    expect(scorer.page.get_by_text("That is 1/16 in too much.", exact=False)).to_be_visible()
    scorer.heading("Width of the joint")
    assert len(scorer.events()) == 1
    scorer.tap("Erase the last reading")
    scorer.tap("3/8")
    scorer.saved("Width of the joint")
    scorer.heading("Length of the piece")
    assert [event["value"]["readings"][0]["typed"] for event in scorer.events()] == ["7/16", "3/8"]


@only_at_length
def test_going_on_from_a_recorded_reading_saves_nothing_new(start: Start) -> None:
    scorer, world = start(SHORT)
    path = f"attempt/{world.attempt().pk}/criterion/joint"
    scorer.open(path)
    scorer.tap("1/4")
    scorer.saved("Width of the joint")
    scorer.open(path)
    scorer.tap("Next: Length of the piece")
    scorer.heading("Length of the piece")
    assert len(scorer.events()) == 1
    scorer.open(path)
    scorer.page.fill("#note", "At the left end")
    scorer.tap("Next: Length of the piece")
    scorer.heading("Length of the piece")
    assert [event["note"] for event in scorer.events()] == ["", "At the left end"]


@only_at_length
def test_a_gauge_in_millimeters_through_its_screens(start: Start) -> None:
    scorer, world = start("repoint.yaml")
    attempt = f"attempt/{world.attempt().pk}"
    scorer.open(f"{attempt}/hold_point/rake")
    scorer.tap("Accepted")
    scorer.saved("Hold point: Joints raked to depth")
    scorer.open(f"{attempt}/criterion/rake_depth")
    expect(scorer.page.locator(".now")).to_contain_text("1 of 8: ▁")
    scorer.digits("27")
    expect(scorer.page.locator(".now")).to_contain_text("1 of 8: 27.▁")
    # A gauge to 0.5 mm shows one decimal: it ends the reading.
    scorer.digits(".5")
    for reading in ("28.0", "27.0", "29.5", "30.0", "28.5", "27.5", "31.0"):
        scorer.digits(reading)
    scorer.saved("Depth of the raked joint")
    scorer.open(f"{attempt}/criterion/setback")
    for reading in ("1.9", "2.1", "2.0", "2.2", "1.8", "2.0"):
        scorer.digits(reading)
    scorer.saved("Finish back of the arris")
    assert (scorer.scrolls, scorer.scrolled) == (0, 0)
    raked, setback = (event["value"]["readings"] for event in scorer.events()[-2:])
    assert [(row["value"], row["unit"]) for row in raked[:2]] == [("27.5", "mm"), ("28", "mm")]
    assert [row["value"] for row in setback] == ["1.9", "2.1", "2", "2.2", "1.8", "2"]


@pytest.mark.parametrize("sizes", at_length([PHONE, ON_ITS_SIDE], TABLETS))
def test_every_screen_of_a_second_program(start: Start, sizes: list[tuple[int, int]]) -> None:
    scorer, world = start("repoint.yaml")
    attempt = f"attempt/{world.attempt().pk}"
    scorer.open(f"{attempt}/hold_point/rake")
    scorer.tap("Accepted")
    scorer.saved("Hold point: Joints raked to depth")
    for row in world.standard.document["criteria"]:
        scorer.open(f"{attempt}/criterion/{row['key']}")
        scorer.heading(row["title"])
        for size in sizes:
            scorer.page.set_viewport_size({"width": size[0], "height": size[1]})
            found = scorer.measured()
            assert found.pop("count") > 3
            assert found == {
                "small": [],
                "near": [],
                "pale": [],
                "light": [],
                "sideways": 0,
            }, (row["key"], size)
        assert scorer.faults() == [], row["key"]


@only_at_length
def test_a_rule_finer_than_can_be_entered_says_so(start: Start, tmp_path: Path) -> None:
    text = SHORT.read_text("utf-8").replace("resolution: 1/16 in", "resolution: 1/128 in")
    file = tmp_path / "fine.yaml"
    file.write_text(text, encoding="utf-8")
    scorer, world = start(file)
    scorer.open(f"attempt/{world.attempt().pk}/criterion/joint")
    expect(scorer.page.locator(".measured")).to_contain_text(
        "The instrument shows 1/128 in: enter the nearest 1/64 in."
    )
    scorer.tap("Parts of an inch")
    scorer.tap("1/4")
    scorer.tap("17/64")
    scorer.saved("Width of the joint")
    scorer.heading("Length of the piece")
    expect(scorer.page.get_by_text("The instrument shows", exact=False)).to_have_count(0)


@only_at_length
def test_limits_of_time_read_in_hours(start: Start) -> None:
    scorer, world = start(SHORT)
    attempt = world.attempt()
    scorer.open(f"attempt/{attempt.pk}/hold_point/first")
    scorer.tap("Accepted")
    scorer.saved("Hold point: Set out")
    scorer.open(f"attempt/{attempt.pk}/criterion/set")
    expect(scorer.page.locator(".limits")).to_have_text("Allowed: 1 h 30 min or less")
