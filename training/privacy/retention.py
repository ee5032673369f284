"""What is kept and how long: the table that people read, and the rules that apply it.

The table is fixtures/retention.yaml. An entry with ``days`` is applied by a rule of the same
name, which an app registers; a test holds the two to each other, and the table to all models.
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from functools import cache
from typing import Any

from django.db import transaction
from django.db.models import Model, QuerySet

from training.fixture_texts import read_fixture, read_translated, reader_language
from training.privacy.erasable import remove_files

NAME = "retention.yaml"
TABLE = f"fixtures/{NAME}"


@dataclass(frozen=True)
class Entry:
    """One kind of data: see the head of the table. ``days`` is None where nothing is applied."""

    key: str
    data: str
    models: tuple[str, ...]
    keeps: str
    why: str
    then: str
    days: int | None = None


@dataclass
class Over:
    """What a rule found to be over: how many rows, and the files that go with them."""

    rows: int = 0
    files: list[str] = field(default_factory=list)


Rule = Callable[[datetime, bool], Over]
RULES: dict[str, list[Rule]] = {}


def retention_rule(key: str) -> Callable[[Rule], Rule]:
    """Register a rule for the entry ``key``.

    It gets the instant before which things are over, and whether only to look.
    """

    def register(rule: Rule) -> Rule:
        rules = RULES.setdefault(key, [])
        if rule not in rules:
            rules.append(rule)
        return rule

    return register


def deleted(rows: QuerySet[Model], only_look: bool) -> Over:
    """Return how many rows there are; delete them unless only to look."""
    number = rows.count()
    if not only_look:
        rows.delete()
    return Over(number)


def table() -> tuple[str, tuple[Entry, ...]]:
    """Return the sentence on local law, and the entries in the order of the page.

    Both in the language of the reader.
    """
    return _table(reader_language())


@cache
def _table(language: str) -> tuple[str, tuple[Entry, ...]]:
    read, translated = read_fixture(NAME), read_translated(NAME, language)
    told = translated.get("kept", {})
    entries = tuple(_entry({**each, **told.get(each["key"], {})}) for each in read["kept"])
    return str(translated.get("law", read["law"])), entries


def apply_retention(*, now: datetime, only_look: bool) -> list[tuple[Entry, Over]]:
    """Apply every entry with days, each in its own transaction; return what was over.

    With ``only_look`` nothing changes. Files go once their rows have.
    """
    return [(entry, _apply(entry, now, only_look)) for entry in table()[1] if entry.days]


def _apply(entry: Entry, now: datetime, only_look: bool) -> Over:
    found = Over()
    with transaction.atomic():
        for rule in RULES[entry.key]:
            over = rule(now - timedelta(days=entry.days or 0), only_look)
            found.rows += over.rows
            found.files += over.files
    if not only_look:
        remove_files(found.files)
    return found


def _entry(each: dict[str, Any]) -> Entry:
    keeps = str(each["keeps"]).replace("{days}", str(each.get("days", "")))
    return Entry(**{**each, "models": tuple(each["models"]), "keeps": keeps})
