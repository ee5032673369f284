"""What one sum of the task sheet says."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class SheetSum:
    """One sum, in words for people.

    ``sum`` is its kind (``pin_hole``), ``inputs`` are (name, text), ``results`` (label, text),
    ``working`` says how it comes about, ``cautions`` are (text, source).
    """

    sum: str
    title: str
    inputs: tuple[tuple[str, str], ...]
    results: tuple[tuple[str, str], ...]
    working: str
    cautions: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Found:
    """What the sum of a kind found, before it gets its title and its inputs."""

    results: tuple[tuple[str, str], ...]
    working: str
    cautions: tuple[tuple[str, str], ...] = ()
