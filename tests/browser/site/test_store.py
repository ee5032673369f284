"""What a device keeps: saved means saved, numbers are given once, and a loss is noticed."""

import pytest
from playwright.sync_api import BrowserContext, Error, Page

from tests.browser.site.modules import BLANK, OPEN, PACK, open_device

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
SAVE = "async (count) => { for (let n = 0; n < count; n += 1) await site.save(); }"
NUMBERS = "async () => (await site.db.all('events')).map((event) => event.seq)"
MIRROR = "() => site.read()"


def reopened(page: Page) -> Page:
    page.reload()
    page.evaluate(OPEN, PACK)
    return page


def test_what_was_saved_is_there_after_a_reload(profile: BrowserContext, site: str) -> None:
    page = open_device(profile, site)
    saved = page.evaluate("() => site.save('a chipped corner')")

    reopened(page)

    [kept] = page.evaluate("() => site.db.all('events')")
    assert kept == saved
    assert (kept["seq"], kept["sent"], kept["note"]) == (1, 0, "a chipped corner")
    assert page.evaluate("() => site.save()")["seq"] == 2


def test_the_number_and_the_event_are_one_transaction_asked_to_be_durable(
    profile: BrowserContext, site: str
) -> None:
    page = open_device(profile, site)
    page.evaluate("""() => {
      site.asked = [];
      const plain = IDBDatabase.prototype.transaction;
      IDBDatabase.prototype.transaction = function (...given) {
        site.asked.push(given);
        return plain.apply(this, given);
      };
    }""")

    page.evaluate("() => site.save()")

    assert page.evaluate("() => site.asked") == [
        [["meta", "events"], "readwrite", {"durability": "strict"}]
    ]


def test_an_event_that_cannot_be_stored_takes_no_number_and_is_not_called_saved(
    profile: BrowserContext, site: str
) -> None:
    page = open_device(profile, site)
    page.evaluate(SAVE, 1)
    # A function cannot be stored (HTML, structured clone).
    failed = "() => site.failed(() => site.db.append((seq) => ({ seq, epoch: 'e', f() {} })))"

    assert page.evaluate(failed) == ["StoreError", "broken"]
    page.evaluate(SAVE, 1)

    assert page.evaluate(NUMBERS) == [1, 2]
    assert page.evaluate(MIRROR)["last"] == 2


def test_a_device_without_room_says_so_at_the_start(profile: BrowserContext, site: str) -> None:
    page = profile.new_page()
    page.goto(site + BLANK)
    devtools = profile.new_cdp_session(page)
    devtools.send("Storage.overrideQuotaForOrigin", {"origin": site, "quotaSize": 1})

    with pytest.raises(Error, match=r"no room left. Nothing was saved"):
        page.evaluate(OPEN, PACK)


def test_two_tabs_never_share_a_number(profile: BrowserContext, site: str) -> None:
    tabs = [open_device(profile, site), open_device(profile, site)]
    for tab in tabs:
        tab.evaluate(f"() => {{ site.saving = ({SAVE})(40); }}")
    for tab in tabs:
        tab.evaluate("() => site.saving")

    assert tabs[0].evaluate(NUMBERS) == list(range(1, 81))
    assert tabs[0].evaluate(MIRROR)["last"] == 80


def test_a_store_deleted_under_an_open_page_is_noticed(profile: BrowserContext, site: str) -> None:
    page, other = open_device(profile, site), profile.new_page()
    page.evaluate(SAVE, 3)
    before = page.evaluate("() => site.db.device()")
    other.goto(site + BLANK)

    other.evaluate("""() => new Promise((done) => {
      indexedDB.deleteDatabase("bankermark").onsuccess = done;
    })""")

    page.wait_for_function("() => site.closed !== null")
    assert "Reload the page" in page.evaluate("() => site.closed")
    assert page.evaluate("() => site.failed(site.save)") == ["StoreError", "closed"]

    reopened(page)
    loss = page.evaluate("() => site.checkLoss(site.db)")
    assert (loss["epoch"], loss["device"]) == (before["epoch"], before["device"])
    assert (loss["last"], loss["found"], loss["unsent"]) == (3, 0, 3)
    after = page.evaluate("() => site.db.device()")
    assert after["device"] == before["device"]
    assert after["epoch"] > before["epoch"]


def test_a_store_that_fell_back_begins_a_new_epoch(profile: BrowserContext, site: str) -> None:
    """Numbers that the server may have already are never given out again."""
    page = open_device(profile, site)
    page.evaluate(SAVE, 2)
    epoch = page.evaluate("() => site.db.device()")["epoch"]
    page.evaluate("() => site.write({ ...site.read(), last: 5, unsent: 4 })")

    reopened(page)

    loss = page.evaluate("() => site.checkLoss(site.db)")
    assert (loss["epoch"], loss["last"], loss["found"], loss["unsent"]) == (epoch, 5, 2, 4)
    event = page.evaluate("() => site.save()")
    assert event["seq"] == 1
    assert event["epoch"] > epoch
    assert len(page.evaluate("() => site.db.unsent(10)")) == 3


def test_a_loss_is_shown_until_seen_and_nothing_is_lost_on_an_ordinary_day(
    profile: BrowserContext, site: str
) -> None:
    page = open_device(profile, site)
    assert page.evaluate("() => site.checkLoss(site.db)") is None
    page.evaluate(SAVE, 2)
    assert page.evaluate("() => site.checkLoss(site.db)") is None
    page.evaluate("() => site.write({ ...site.read(), last: 5 })")

    for _ in range(2):
        reopened(page)
        assert page.evaluate("() => site.checkLoss(site.db)")["last"] == 5
    page.evaluate("async () => site.db.noteLoss(await site.checkLoss(site.db), { shown: true })")
    reopened(page)

    assert page.evaluate("() => site.checkLoss(site.db)") is None
    assert [loss["told"] for loss in page.evaluate("() => site.db.losses()")] == [False]


LOSE = """(numbers) => new Promise((done) => {
  const tx = site.db.raw.transaction(["meta", "events"], "readwrite");
  tx.objectStore("meta").get("device").onsuccess = ({ target }) => {
    for (const seq of numbers) tx.objectStore("events").delete([target.result.epoch, seq]);
  };
  tx.oncomplete = done;
})"""


def test_events_that_vanish_while_the_rest_survives_are_counted_once(
    profile: BrowserContext, site: str
) -> None:
    page = open_device(profile, site)
    page.evaluate(SAVE, 6)
    page.evaluate("""async () => site.db.acknowledge(
      (await site.db.all("events")).slice(0, 3), "2026-11-03T10:00:00Z")""")
    before = page.evaluate("() => site.db.device()")
    page.evaluate(LOSE, [2, 5, 6])

    reopened(page)

    [loss] = page.evaluate("() => site.db.losses()")
    assert (loss["epoch"], loss["device"]) == (before["epoch"], before["device"])
    assert (loss["last"], loss["found"], loss["unsent"]) == (6, 3, 2)
    assert page.evaluate("() => site.checkLoss(site.db)") == loss
    assert page.evaluate("() => site.db.device()") == before, "no number is given out again"
    assert page.evaluate("() => site.save()")["seq"] == 7
    reopened(page)
    assert len(page.evaluate("() => site.db.losses()")) == 1

    page.evaluate(LOSE, [4])
    reopened(page)
    _, second = page.evaluate("() => site.db.losses()")
    assert (second["last"], second["found"], second["unsent"]) == (7, 3, 1)
    page.evaluate("async () => site.db.noteLoss(await site.checkLoss(site.db), { shown: true })")
    assert page.evaluate("() => site.checkLoss(site.db)") == second


def test_a_whole_store_of_events_that_vanished_is_counted_in_every_epoch(
    profile: BrowserContext, site: str
) -> None:
    page = open_device(profile, site)
    page.evaluate(SAVE, 2)
    page.evaluate("() => site.write({ ...site.read(), last: 5, unsent: 4 })")
    reopened(page)
    page.evaluate(SAVE, 3)
    page.evaluate("""() => new Promise((done) => {
      const tx = site.db.raw.transaction("events", "readwrite");
      tx.objectStore("events").clear();
      tx.oncomplete = done;
    })""")

    reopened(page)

    losses = page.evaluate("() => site.db.losses()")
    assert [(loss["last"], loss["found"]) for loss in losses] == [(5, 2), (2, 0), (3, 0)]
    assert len({loss["epoch"] for loss in losses}) == 2


def test_the_mirror_goes_to_no_other_site_and_outlives_the_day(
    profile: BrowserContext, site: str
) -> None:
    page = open_device(profile, site)
    page.evaluate(SAVE, 1)

    [cookie] = [one for one in profile.cookies() if one["name"] == "site_mirror"]

    assert (cookie["sameSite"], cookie["path"]) == ("Strict", "/site/")
    days = (cookie["expires"] - page.evaluate("() => Date.now() / 1000")) / 86400
    assert 390 < days <= 400  # Chromium keeps none longer than 400 days
