"""The texts of the guides and cards, read once from fixtures."""

from dataclasses import dataclass
from functools import cache
from typing import Any

from django.conf import settings
from ruamel.yaml import YAML


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


@cache
def guides() -> dict[str, Guide]:
    """Return the guides by key, in the order of the file."""
    return {
        each["key"]: Guide(**{**each, "pages": tuple(each["pages"]), "text": tuple(each["text"])})
        for each in _read("guides.yaml")
    }


@cache
def guide_by_page() -> dict[str, Guide]:
    """Return the guide of each page that has one, by the name of its address."""
    return {page: guide for guide in guides().values() for page in guide.pages}


@cache
def cards() -> tuple[Card, ...]:
    """Return the cards in the order in which they are printed."""
    return tuple(Card(**{**each, "steps": tuple(each["steps"])}) for each in _read("cards.yaml"))


def _read(name: str) -> list[dict[str, Any]]:
    text = (settings.BASE_DIR / "fixtures" / name).read_text(encoding="utf-8")
    found: list[dict[str, Any]] = YAML(typ="safe").load(text)
    return found
