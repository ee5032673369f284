"""A guide is shown on a page's first use, put away with one press, and shown again from a '?'."""

import io

import pikepdf
import pytest
from django.test import Client
from django.urls import NoReverseMatch, get_resolver, reverse

from tests.factories import make_person
from tests.training.yard import Yard, make_yard
from training.guides.texts import cards, guides
from training.models import GuideRead


@pytest.fixture
def yard(db: None) -> Yard:
    """Return a provider with everybody around it."""
    return make_yard()


def test_shown_once_put_away_and_shown_again(yard: Yard, client: Client) -> None:
    client.force_login(yard.lead)
    home, title = reverse("home"), f"<h2>{guides()['home'].title}</h2>"
    assert title in client.get(home).text
    away = reverse("guide_put_away", args=["home"])
    for _ in range(2):  # pressed twice
        page = client.post(away, {"next": home}, follow=True)
        assert page.redirect_chain == [(home, 302)]
    assert title not in page.text
    assert "?guide=home" in page.text
    assert title in client.get(f"{home}?guide=home").text
    assert GuideRead.objects.count() == 1
    client.force_login(make_person())
    assert title in client.get(home).text


def test_a_stranger_sees_none_and_nobody_is_led_away(yard: Yard, client: Client) -> None:
    assert 'class="guide' not in client.get(reverse("home")).text
    client.force_login(yard.lead)
    away = client.post(reverse("guide_put_away", args=["run"]), {"next": "https://example.org/"})
    assert away["Location"] == reverse("home")
    assert client.post(reverse("guide_put_away", args=["nothing"])).status_code == 404


def test_every_guide_is_short_and_of_pages_that_there_are() -> None:
    names = {key for key in get_resolver().reverse_dict if isinstance(key, str)}
    pages = [page for guide in guides().values() for page in guide.pages]
    assert len(pages) >= 14
    assert len(pages) == len(set(pages))
    for guide in guides().values():
        assert len(guide.text) == 3
        assert set(guide.pages) <= names
        assert len(guide.key) <= 40  # GuideRead.guide
    with pytest.raises(NoReverseMatch):
        reverse("no such page")


def test_the_cards_are_a_tagged_pdf_that_says_all_of_it(yard: Yard, client: Client) -> None:
    client.force_login(yard.trainee)
    answer = client.get(reverse("quick_cards"))
    assert answer["Content-Type"] == "application/pdf"
    with pikepdf.open(io.BytesIO(answer.content)) as pdf:
        assert pdf.Root.MarkInfo.Marked  # ISO 32000-2, 14.7: tagged
        assert len(pdf.pages) <= 4
    assert {card.key for card in cards()} == {
        "scoring",
        "hold_points",
        "reading",
        "no_signal",
        "cautions",
    }
