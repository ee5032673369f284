"""The texts of the guides and cards, read once from fixtures."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from training.fixture_texts import read_fixture, read_translated, reader_language


@dataclass(frozen=True)
class Guide:
    """A title, three sentences and what to do next, for the pages at these addresses."""

    key: str
    title: str
    pages: tuple[str, ...]
    text: tuple[str, ...]
    next: str


@dataclass(frozen=True)
class Card:
    """One side to print: steps in order, what to look out for, and who was asked (source)."""

    key: str
    title: str
    steps: tuple[str, ...]
    caution: str
    source: str


def guides() -> Mapping[str, Guide]:
    """Return the guides by key, in the order of the file and the language of the reader."""
    return _guides(reader_language())


def guide_by_page() -> Mapping[str, Guide]:
    """Return the guide of each page that has one, by the name of its address."""
    return _guide_by_page(reader_language())


def cards() -> tuple[Card, ...]:
    """Return the cards in the order in which they are printed, in the language of the reader."""
    return _cards(reader_language())


@cache
def _guides(language: str) -> Mapping[str, Guide]:
    return {
        each["key"]: Guide(**{**each, "pages": tuple(each["pages"]), "text": tuple(each["text"])})
        for each in _told("guides.yaml", language)
    }


@cache
def _guide_by_page(language: str) -> Mapping[str, Guide]:
    return {page: guide for guide in _guides(language).values() for page in guide.pages}


@cache
def _cards(language: str) -> tuple[Card, ...]:
    told = _told("cards.yaml", language)
    return tuple(Card(**{**each, "steps": tuple(each["steps"])}) for each in told)


def _told(name: str, language: str) -> list[dict[str, Any]]:
    translated = read_translated(name, language)
    return [{**each, **translated.get(each["key"], {})} for each in read_fixture(name)]
