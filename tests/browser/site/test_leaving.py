"""The first and the last screen of a phone: losses, leave to send, locks, files, putting away."""

import json
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from assessments.actions.site.imports import import_events, read_events_file
from assessments.models import DeviceLoss, Observation, Pack
from tests.browser.site.photographs import SMALL, photograph
from tests.browser.site.scoring import Scorer, World, phone_of
from tests.browser.site.test_photo_slot import shoot
from tests.faults.marks import only_at_length

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
CRITERION = "Controls in place before the first cut"
SENT = "Saved on this phone · all sent"
LONG_AGO = datetime(2020, 1, 1, tzinfo=UTC)

# Past the product's own modules: change one store of this phone.
CHANGE = """([name, script]) => new Promise((resolve) => {
  indexedDB.open("bankermark").onsuccess = ({ target }) => {
    const tx = target.result.transaction(name, "readwrite");
    const store = tx.objectStore(name);
    if (script === "clear") store.clear();
    else store.openCursor().onsuccess = ({ target: { result: cursor } }) => {
      if (!cursor) return;
      cursor.update({ ...cursor.value, ...JSON.parse(script) });
      cursor.continue();
    };
    tx.oncomplete = () => { target.result.close(); resolve(); };
  };
})"""

# A screen lock as the browser gives one (W3C Screen Wake Lock): released when the page is hidden.
WAKE = """() => {
  window.locks = [];
  const request = async (type) => {
    const lock = { type, released: false };
    window.locks.push(lock);
    return lock;
  };
  Object.defineProperty(navigator, "wakeLock", { value: { request } });
  let seen = "visible";
  Object.defineProperty(document, "visibilityState", { get: () => seen });
  window.turn = (state) => {
    seen = state;
    if (state === "hidden") for (const lock of window.locks) lock.released = true;
    document.dispatchEvent(new Event("visibilitychange"));
  };
}"""


@pytest.fixture
def world(transactional_db: None, data_in_a_folder_of_its_own: None) -> World:
    return World()


@pytest.fixture
def scorer(chromium: Browser, site: str, world: World) -> Iterator[Scorer]:
    """Somebody who has taken the run to the site and scored one criterion without a signal."""
    context = phone_of(chromium)
    scorer = Scorer(context, site)
    scorer.sign_in(world.instructor)
    scorer.take()
    context.set_offline(True)
    scorer.open(f"attempt/{world.attempt().pk}/criterion/work_safe")
    scorer.tap("Yes")
    scorer.saved(CRITERION)
    yield scorer
    context.close()
    assert scorer.complaints == []


def change(scorer: Scorer, store: str, script: str) -> None:
    scorer.page.evaluate(CHANGE, [store, script])


def arrived(scorer: Scorer) -> None:
    scorer.context.set_offline(False)
    expect(scorer.page.get_by_text(SENT)).to_be_visible(timeout=30_000)


def test_without_leave_to_send_scoring_goes_on_and_renewing_sends_it(
    scorer: Scorer, world: World
) -> None:
    pack = Pack.objects.get()
    Pack.objects.update(taken_at=LONG_AGO, expires_at=LONG_AGO + timedelta(days=1))
    change(scorer, "packs", json.dumps({"expires_at": LONG_AGO.isoformat()}))
    scorer.page.reload()
    attempt = world.attempt()
    scorer.open(f"attempt/{attempt.pk}/hold_point/cavity")
    scorer.tap("Accepted")
    scorer.saved("Hold point: Cavity set out and cut")
    assert [event["sent"] for event in scorer.events()] == [0, 0]

    scorer.open(f"pack/{pack.pk}")
    expect(scorer.page.get_by_text("The leave to send from this phone ran out")).to_be_visible()
    scorer.context.set_offline(False)
    scorer.page.wait_for_function("() => navigator.onLine")
    scorer.open("leave")
    expect(scorer.page.get_by_text("renew the pack, then it sends again")).to_be_visible()
    assert not Observation.objects.exists()
    scorer.open(f"pack/{pack.pk}")
    scorer.tap("Renew and send")
    expect(scorer.page.get_by_text(SENT)).to_be_visible(timeout=30_000)
    assert Observation.objects.filter(attempt=attempt).count() == 2
    expect(scorer.page.get_by_text("The leave to send")).to_have_count(0)


@only_at_length
def test_a_loss_is_said_on_the_first_screen_and_told_to_the_server(scorer: Scorer) -> None:
    change(scorer, "events", "clear")
    scorer.open("")
    scorer.page.reload()
    notice = scorer.page.get_by_role("alert")
    expect(notice).to_contain_text("Saved scores are gone from this phone")
    expect(notice).to_contain_text("It had saved 1 entry and holds 0 of them.")
    expect(notice).to_contain_text("1 entry had not been sent")
    assert not DeviceLoss.objects.exists()

    with scorer.page.expect_response("**/site/losses/"):
        scorer.context.set_offline(False)
    loss = DeviceLoss.objects.get()
    assert (loss.last_seq, loss.found_seq, loss.unsent) == (1, 0, 1)
    scorer.tap("I have read this")
    expect(notice).to_have_count(0)
    scorer.page.reload()
    scorer.heading("Scoring on site")
    expect(notice).to_have_count(0)


def test_the_file_saved_without_a_signal_is_read_in_at_the_desk(
    scorer: Scorer, world: World, tmp_path: Path
) -> None:
    scorer.open("leave")
    with scorer.page.expect_download() as saved:
        scorer.tap("Save to a file")
    assert saved.value.suggested_filename.endswith(f"-{world.instructor.pk}.json")
    file = tmp_path / "events.json"
    saved.value.save_as(file)

    document = read_events_file(file.read_bytes())
    imported = import_events(actor=world.instructor, document=document)

    assert imported.counts == {"stored": 1}
    assert str(Observation.objects.get().pk) == scorer.events()[0]["id"]
    assert [event["sent"] for event in scorer.events()] == [0], "until the server itself says so"
    arrived(scorer)
    assert Observation.objects.count() == 1


@only_at_length
def test_who_signed_out_with_unsent_scores_opens_them_again(scorer: Scorer, world: World) -> None:
    scorer.open("leave")
    scorer.tap("Sign out, keep what waits")
    expect(scorer.page.get_by_role("heading", name="Locked")).to_be_visible()
    scorer.tap("Unlock", exact=False)
    expect(scorer.page.get_by_role("alert")).to_contain_text("There is no signal")
    assert [event["sent"] for event in scorer.events()] == [0]

    with scorer.page.expect_response("**/sign-out/"):  # with the signal the session ends as well
        arrived(scorer)
    scorer.tap("Unlock", exact=False)
    expect(scorer.page.get_by_role("alert")).to_contain_text("Sign in on this device first")
    scorer.sign_in(world.instructor)
    scorer.page.goto(f"{scorer.address}/site/")
    scorer.tap("Unlock", exact=False)
    expect(scorer.page.get_by_role("heading", name="Locked")).to_have_count(0)
    scorer.open(f"attempt/{world.attempt().pk}/criterion/work_safe")
    expect(scorer.page.locator("[aria-pressed=true]")).to_contain_text("Yes")


def test_a_run_leaves_the_phone_only_when_all_of_it_is_sent(scorer: Scorer) -> None:
    pack = Pack.objects.get()
    scorer.open("")
    scorer.tap("Take off this phone", exact=False)
    expect(scorer.page.get_by_text("It stays here: 1 entry to send.")).to_be_visible()
    expect(scorer.page.get_by_role("button")).to_have_count(0)
    arrived(scorer)
    scorer.open("")
    scorer.tap("Take off this phone", exact=False)
    expect(scorer.page.get_by_text("all that was scored here: 1 entry.")).to_be_visible()
    found = scorer.measured()
    assert found.pop("count") > 0
    assert found == {"small": [], "near": [], "pale": [], "light": [], "sideways": 0}
    assert scorer.faults() == []

    scorer.tap("Take it off this phone")
    expect(scorer.page.get_by_text("No run is on this phone yet.")).to_be_visible()
    assert scorer.events() == []
    assert Observation.objects.count() == 1
    scorer.open(f"away/{pack.pk}")
    scorer.heading("Not on this phone")
    scorer.open("")
    scorer.page.reload()
    expect(scorer.page.get_by_role("button", name="Take", exact=False)).to_be_visible()
    expect(scorer.page.get_by_role("alert")).to_have_count(0)


@only_at_length
def test_a_run_stays_while_a_photo_of_it_is_not_taken(scorer: Scorer, world: World) -> None:
    refusal = {"sentence": "The photograph is cut short."}
    scorer.context.route("**/site/photos/**", lambda route: route.fulfill(status=422, json=refusal))
    scorer.open(f"attempt/{world.attempt().pk}/criterion/work_safe")
    shoot(scorer.page, "Take a photo of", photograph(SMALL))
    expect(scorer.page.get_by_text("Not sent yet.")).to_be_visible()
    scorer.context.set_offline(False)
    expect(scorer.page.get_by_text(f"taken by the server: {refusal['sentence']}")).to_be_visible(
        timeout=30_000
    )
    scorer.open(f"away/{Pack.objects.get().pk}")
    expect(scorer.page.get_by_text("It stays here: 1 photo to send.")).to_be_visible()
    expect(scorer.page.get_by_role("button")).to_have_count(0)


def test_the_screen_stays_lit_and_is_lit_again_after_a_look_elsewhere(
    chromium: Browser, site: str
) -> None:
    context = phone_of(chromium)
    context.add_init_script(f"({WAKE})()")
    page = context.new_page()
    page.goto(f"{site}/site/")
    expect(page.get_by_role("heading", name="Scoring on site")).to_be_visible()
    asked = "() => window.locks.map(({ type, released }) => [type, released])"
    assert page.evaluate(asked) == [["screen", False]]
    page.evaluate("() => window.turn('visible')")
    assert page.evaluate(asked) == [["screen", False]], "one is enough"
    page.evaluate("() => window.turn('hidden')")
    assert page.evaluate(asked) == [["screen", True]]
    page.evaluate("() => window.turn('visible')")
    assert page.evaluate(asked) == [["screen", True], ["screen", False]]
    context.close()
