"""Texts of fixtures that people read: English in the file, another language in a file beside it.

``fixtures/es/guides.yaml`` says by key what the entries of ``fixtures/guides.yaml`` say in
Spanish. What it lacks is told in English; a test holds the two to each other.
"""

from collections.abc import Mapping
from typing import Any

from django.conf import settings
from django.utils.translation import get_language
from ruamel.yaml import YAML

ENGLISH = "en"


def reader_language() -> str:
    """Return the language of the reader, as in ``es``."""
    return (get_language() or ENGLISH).split("-")[0]


def read_fixture(name: str) -> Any:
    """Return what the file ``name`` of the fixtures holds."""
    text = (settings.BASE_DIR / "fixtures" / name).read_text(encoding="utf-8")
    return YAML(typ="safe").load(text)


def read_translated(name: str, language: str) -> Mapping[str, Any]:
    """Return what the file ``name`` says in ``language``; empty for English and where none is."""
    there = settings.BASE_DIR / "fixtures" / language / name
    if language == ENGLISH or not there.exists():
        return {}
    found: Mapping[str, Any] = read_fixture(f"{language}/{name}")
    return found
