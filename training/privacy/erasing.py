"""What stands against an erasure, what it does, and what stays: told by each app."""

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from training.models import Erasure, Person

Block = Callable[[Person, bool], Iterable[str]]
Step = Callable[[Erasure, str], Iterable[str]]


@dataclass(frozen=True)
class Kept:
    """Where a name may still stand after an erasure, and why it stays there."""

    where: str
    why: str


BLOCKS: list[Block] = []
STEPS: list[Step] = []
KEPT: list[Kept] = []


def erasure_block(block: Block) -> Block:
    """Register what gives a sentence for each thing in the way; usable as a decorator.

    It is asked for a person, and whether that person asked for the erasure in writing.
    """
    if block not in BLOCKS:
        BLOCKS.append(block)
    return block


def erasure_step(step: Step) -> Step:
    """Register what erases inside the transaction; usable as a decorator.

    It gets the erasure and the name until then, and returns the files to be removed after it.
    """
    if step not in STEPS:
        STEPS.append(step)
    return step


def stays(*kept: Kept) -> None:
    """Register what an erasure leaves."""
    KEPT.extend(each for each in kept if each not in KEPT)


def blocks_of(person: Person, *, in_writing: bool) -> list[str]:
    """Return a sentence for each thing that stands against erasing ``person`` now."""
    return [sentence for block in BLOCKS for sentence in block(person, in_writing)]


def without_name(text: str, name: str, pseudonym: str) -> str:
    """Return ``text`` with the pseudonym wherever the whole name stands in it.

    >>> without_name("Ask Ada Stone, not Ada Stone-Rey.", "Ada Stone", "Person 7F3A")
    'Ask Person 7F3A, not Ada Stone-Rey.'
    """
    return re.sub(rf"(?<![\w-]){re.escape(name)}(?![\w-])", pseudonym, text)


def renamed(value: object, name: str, pseudonym: str) -> object:
    """Return plain JSON data with the name replaced in every text."""
    if isinstance(value, str):
        return without_name(value, name, pseudonym)
    if isinstance(value, list):
        return [renamed(each, name, pseudonym) for each in value]
    if isinstance(value, dict):
        return {key: renamed(each, name, pseudonym) for key, each in value.items()}
    return value


def run_steps(erasure: Erasure, name: str) -> Iterator[str]:
    """Do every step; give the files to be removed."""
    for step in STEPS:
        yield from step(erasure, name)
