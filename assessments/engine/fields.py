"""Read the fields of a document, each with an error at its own path."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from typing import Any

from assessments.engine.errors import EngineError
from assessments.engine.numbers import Exact, exact

Document = dict[str, Any]
KEY = re.compile(r"[A-Za-z][A-Za-z0-9_-]{0,39}", re.ASCII)


@contextmanager
def at(prefix: str) -> Iterator[None]:
    """Put ``prefix`` before the path of any EngineError raised inside."""
    try:
        yield
    except EngineError as error:
        raise error.under(prefix) from None


def fields(value: object, required: tuple[str, ...], optional: Iterable[str] = ()) -> Document:
    """An object with all the required fields and none that the engine does not know."""
    if not isinstance(value, dict):
        raise EngineError("", "Write an object here: {…}.")
    for name in required:
        if name not in value:
            raise EngineError(name, f"The field “{name}” is missing: write it.")
    if len(value) > len(required):
        known = (*required, *optional)
        for name in value:
            if name not in known:
                raise EngineError(
                    str(name), f"There is no such field here; known: {', '.join(known)}."
                )
    return value


def items(document: Document, name: str, *, least: int = 1) -> list[Any]:
    """A list of at least so many items."""
    value = document[name]
    if not isinstance(value, list):
        raise EngineError(name, "Write a list here: […].")
    if len(value) < least:
        raise EngineError(name, f"Write at least {least}; there are {len(value)}.")
    return value


def text(document: Document, name: str, *, empty: bool = False) -> str:
    """A text, not empty unless allowed."""
    value = document[name]
    if not isinstance(value, str):
        raise EngineError(name, "Write text here.")
    if not empty and not value.strip():
        raise EngineError(name, "Write something here: it is empty.")
    return value


def own_key(document: Document) -> str:
    """The field ``key``: 1 to 40 letters, digits, _ or -, a letter first."""
    found = text(document, "key")
    if not KEY.fullmatch(found):
        raise EngineError("key", "Write 1 to 40 letters, digits, _ or -, a letter first.")
    return found


def flag(document: Document, name: str) -> bool:
    """true or false."""
    value = document[name]
    if not isinstance(value, bool):
        raise EngineError(name, "Write true or false.")
    return value


def whole(document: Document, name: str, least: int, most: int) -> int:
    """A whole number within a range."""
    value = document[name]
    if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
        raise EngineError(name, f"Write a whole number from {least} to {most}.")
    return value


def number(document: Document, name: str, *, above: int | None = None, least: int = 0) -> Exact:
    """An exact number: at least ``least``, or more than ``above``."""
    with at(name):
        value = exact(document[name])
        if above is not None and value <= above:
            raise EngineError("", f"Write a number above {above}.")
        if value < least:
            raise EngineError("", f"Write a number of {least} or more.")
    return value


def share(document: Document, name: str) -> Exact | None:
    """A number from 0 to 1, or null."""
    if document[name] is None:
        return None
    value = number(document, name)
    if value > 1:
        raise EngineError(name, 'Write a share from 0 to 1, such as "0.7" for 70 %.')
    return value


def choice(document: Document, name: str, known: Iterable[str]) -> str:
    """One of the known words."""
    value = document[name]
    if not isinstance(value, str) or value not in known:
        raise EngineError(name, f"Write one of: {', '.join(known)}.")
    return value


def once(keys: Iterable[str], name: str, what: str = "key") -> None:
    """Raise EngineError at the first key that stands twice in the list called ``name``."""
    seen: set[str] = set()
    for i, key in enumerate(keys):
        if key in seen:
            raise EngineError(
                f"{name}[{i}].{what}", f"The {what} “{key}” stands twice: give each its own."
            )
        seen.add(key)
