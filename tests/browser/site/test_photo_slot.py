"""The slot for a photograph on the screen, and the question after one that may be missing."""

from typing import Any

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from assessments.models import Pack, Photo, PhotoBytes
from tests.browser.site.photographs import HEIC, PLACE, SMALL, Device, as_file, photograph
from tests.browser.site.scoring import Scorer, World, phone_of

ASKED = (
    "The camera was opened for Bed joint of Søren Tårnby, and no photo was kept. "
    "Take it again, or say that there is none."
)
pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def slot(device: Device) -> Page:
    """A page with a slot on it, whose database stays open; problems are thrown by the browser."""
    open_slot(device.page)
    return device.page


def open_slot(page: Page) -> None:
    page.evaluate(
        """async (place) => {
            const { photoSlot } = await import("/static/site/photo_slot.js");
            const { openDb } = await import("/static/site/db.js");
            window.db = await openDb();
            window.kept = 0;
            window.slot = photoSlot(window.db, {
                ...place, title: "Bed joint", onChange: () => { window.kept += 1; },
            });
            document.querySelector("main").replaceChildren(window.slot.element);
            await window.slot.refresh();
        }""",
        PLACE,
    )


def shoot(page: Page, key: str, file: bytes) -> None:
    with page.expect_file_chooser() as chooser:
        page.get_by_role("button", name=key).click()
    chooser.value.set_files(as_file(file))


def test_the_slot_takes_and_shows_a_photo(slot: Page) -> None:
    complaints: list[str] = []
    slot.on("console", lambda said: complaints.append(said.text))
    shoot(slot, "Take a photo of Bed joint", photograph(SMALL))

    picture = slot.get_by_role("img", name="Photo of Bed joint, 10:15")
    expect(picture).to_be_visible()
    assert (
        picture.evaluate("async (img) => { await img.decode(); return img.naturalWidth; }") == 180
    )
    expect(slot.get_by_text("by the camera's clock. Not sent yet.")).to_be_visible()
    expect(slot.get_by_text("no photo was kept")).to_have_count(0)
    assert slot.evaluate("() => window.kept") == 1
    address = picture.get_attribute("src")
    slot.evaluate("() => window.slot.release()")
    assert (
        slot.evaluate(
            """async (src) => {
            const image = new Image();
            image.src = src;
            return await image.decode().then(() => "still held", () => "let go");
        }""",
            address,
        )
        == "let go"
    )
    assert [said for said in complaints if "Content Security Policy" in said] == []


def test_the_slot_says_what_is_no_picture_and_takes_no_for_an_answer(slot: Page) -> None:
    shoot(slot, "Take a photo of Bed joint", HEIC)
    expect(slot.get_by_role("alert")).to_contain_text("HEIC format")
    expect(slot.get_by_role("img")).to_have_count(0)

    slot.reload()
    open_slot(slot)
    expect(slot.get_by_text(ASKED)).to_be_visible()
    shoot(slot, "Take it again", photograph(SMALL))
    expect(slot.get_by_role("img")).to_have_count(1)
    expect(slot.get_by_text("no photo was kept")).to_have_count(0)

    shoot(slot, "Take a photo of Bed joint", b"no picture")
    slot.get_by_role("button", name="No photo").click()
    expect(slot.get_by_role("alert")).to_have_count(0)
    expect(slot.get_by_role("img")).to_have_count(1)


def test_the_first_screen_asks_after_what_may_be_missing(slot: Page) -> None:
    slot.evaluate(
        """async (place) => {
            const { intent } = await import("/static/site/photos.js");
            const { missingPhotos } = await import("/static/site/photo_slot.js");
            await intent(window.db, place);
            await intent(window.db, { ...place, attempt: "of somebody else" });
            const main = document.querySelector("main");
            main.replaceChildren(missingPhotos(window.db, [place.pack], console.error));
        }""",
        PLACE,
    )
    asked = slot.get_by_text("no photo was kept")
    expect(asked).to_have_text([ASKED])
    expect(slot.get_by_role("link", name="Take it again")).to_have_attribute(
        "href", f"#/attempt/{PLACE['attempt']}/criterion/C3"
    )
    slot.get_by_role("button", name="No photo").click()
    expect(asked).to_have_count(0)


def test_on_the_scoring_pages_without_a_signal(chromium: Browser, site: str) -> None:
    world = World()
    context = phone_of(chromium)
    scorer = Scorer(context, site)
    scorer.sign_in(world.instructor)
    scorer.take()
    context.set_offline(True)
    scorer.open(f"attempt/{world.attempt().pk}/criterion/work_safe")
    take = scorer.page.get_by_role("button", name="Take a photo of")
    with scorer.page.expect_file_chooser():
        take.click()
    scorer.page.close()  # with the camera open

    page = context.new_page()
    for screen in ("", f"#/pack/{Pack.objects.get().pk}"):
        page.goto(f"{site}/site/{screen}")
        expect(page.get_by_text("no photo was kept")).to_be_visible()
    page.get_by_role("link", name="Take it again").click()
    expect(page.get_by_text("no photo was kept")).to_be_visible()
    shoot(page, "Take it again", photograph(SMALL))
    expect(page.get_by_role("img", name="Photo of")).to_be_visible()
    expect(page.get_by_text("Not sent yet.")).to_be_visible()
    expect(page.get_by_text("no photo was kept")).to_have_count(0)

    context.set_offline(False)
    expect(page.get_by_text("camera's clock. Sent.")).to_be_visible()
    assert PhotoBytes.objects.get().sha256 == Photo.objects.get().sha256
    context.close()


def test_a_refused_photo_says_why_and_is_sent_again_by_a_press(slot: Page) -> None:
    """By itself the outbox asks again an hour later."""
    answer: dict[str, Any] = {"status": 422, "json": {"sentence": "The photograph is cut short."}}
    asked: list[str] = []

    def refuse(route: Route) -> None:
        asked.append(route.request.url)
        route.fulfill(**answer)

    slot.context.route("**/site/photos/**", refuse)
    slot.evaluate(
        """async (pack) => {
            const { startOutbox } = await import("/static/site/outbox.js");
            await window.db.put("packs", { ...pack, expires_at: "2126-01-01T00:00Z" });
            window.rests = () => new Promise((done) => {
                window.outbox.onChange = ({ state }) => state !== "sending" && done();
                window.outbox.sendNow();
            });
            window.db.unsent = async () => [];
            window.outbox = startOutbox(window.db);
        }""",
        PLACE["pack"],
    )
    shoot(slot, "Take a photo of Bed joint", photograph(SMALL))
    expect(slot.get_by_text("Not sent yet.")).to_be_visible()
    slot.evaluate("""async () => {
        await window.db.acknowledge(await window.db.all("events"), new Date().toISOString());
        await window.rests();
        await window.slot.refresh();
    }""")
    reason = slot.get_by_text("not taken by the server: The photograph is cut short.")
    expect(reason).to_be_visible()
    slot.evaluate("() => window.rests()")
    assert len(asked) == 1

    again = slot.get_by_role("button", name="Send the photo of Bed joint, 10:15, again")
    again.click()
    expect(again).to_be_enabled()
    expect(reason).to_be_visible()
    assert len(asked) == 2

    answer.clear()
    answer["json"] = {"sha256": asked[0].rstrip("/").rsplit("/", 1)[1]}
    again.click()
    expect(slot.get_by_text("by the camera's clock. Sent.")).to_be_visible()
    expect(again).to_have_count(0)
    assert len(asked) == 3
