"""A photograph that was begun when the browser was killed; apart, for it starts its own."""

from pathlib import Path

import pytest

from tests.browser.site.photographs import PLACE, Device
from tests.faults.chromium import own_chromium

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


def test_an_intent_is_shown_when_the_browser_was_killed_with_the_camera_open(
    site: str, tmp_path: Path
) -> None:
    with own_chromium(tmp_path / "profile") as chromium:
        Device(chromium.page(), site).run("await photos.intent(db, place);")
        chromium.kill()

        again = Device(chromium.page(), site)

        [row] = again.kept()["intents"]
        assert row["sentence"] == (
            "The camera was opened for Bed joint of Søren Tårnby, and no photo was kept. "
            "Take it again, or say that there is none."
        )
        named = (row["attempt"], row["subject"], row["stage"])
        assert named == (PLACE["attempt"], PLACE["subject"], PLACE["stage"])
        again.run("await photos.noPhoto(db, place);")
        assert again.kept()["intents"] == []
