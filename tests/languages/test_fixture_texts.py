"""The texts of fixtures in Spanish stand beside the English ones, entry by entry.

What a translation has to keep is the file itself; the Spanish is ours, without a source.
"""

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils.translation import override

from training.fixture_texts import read_fixture, read_translated
from training.guides.texts import cards, guides
from training.privacy.retention import table

FIELDS = {
    "guides.yaml": {"title", "text", "next"},
    "cards.yaml": {"title", "steps", "caution", "source"},
    "retention.yaml": {"data", "keeps", "why", "then"},
}


def entries(name: str) -> tuple[list[dict[str, Any]], dict[str, dict[str, Any]]]:
    """Return the English entries of a file and the Spanish ones by key."""
    english, spanish = read_fixture(name), read_translated(name, "es")
    return (english["kept"], spanish["kept"]) if "kept" in english else (english, dict(spanish))


@pytest.mark.parametrize("name", FIELDS)
def test_every_entry_is_told_in_spanish_sentence_by_sentence(name: str) -> None:
    english, spanish = entries(name)
    assert [each["key"] for each in english] == list(spanish)
    for entry in english:
        told = spanish[entry["key"]]
        assert set(told) == FIELDS[name], entry["key"]
        for field, text in told.items():
            before = entry[field]
            assert type(text) is type(before)
            if isinstance(text, list):
                assert len(text) == len(before), (entry["key"], field)
                assert not set(text) & set(before)
            else:
                assert text != before, (entry["key"], field)
                assert text.count("{days}") == before.count("{days}"), (entry["key"], field)


def test_they_are_read_in_the_language_of_the_reader() -> None:
    with override("es"):
        assert guides()["home"].title == "Su primera página"
        assert guides()["home"].pages == ("home",)
        assert cards()[1].title == "Puntos de espera"
        law, kept = table()
    assert law.startswith("La ley local va primero.")
    assert next(each for each in kept if each.key == "sign_in_codes").keeps == (
        "Durante 7 días después de que terminó el código."
    )
    assert [each.models for each in kept] == [each.models for each in table()[1]]
    assert guides()["home"].title == "Your first page"
    # A language without a file is told in English.
    with override("fr"):
        assert guides()["home"].title == "Your first page"


def test_the_page_of_what_is_kept_speaks_spanish(db: None, client: Client) -> None:
    page = client.get(reverse("retention"), headers={"accept-language": "es"})
    assert "La ley local va primero." in page.text
    assert "Local law comes first." not in page.text
