"""A formula as a tree. Grammar, lowest binding first:

sum     = product { ("+" | "-") product }
product = signed { ("*" | "/") signed }
signed  = "-" signed | atom
atom    = number [unit] | name | ("min" | "max") "(" sum { "," sum } ")" | "(" sum ")"
"""

from __future__ import annotations

from dataclasses import dataclass

from assessments.engine.errors import EngineError
from assessments.engine.formula.tokens import FUNCTIONS, Token, tokens, wrong

MAX_DEPTH = 30


@dataclass(frozen=True, slots=True)
class Node:
    """A word of the formula with the parts it joins (none for a number or a name)."""

    token: Token
    parts: tuple[Node, ...] = ()


def parse(formula: str) -> Node:
    """The tree of a formula; EngineError, with the column, where it cannot be read.

    >>> parse("opening_width - 2 * joint").token.text
    '-'
    >>> parse("opening_width - ").token
    Traceback (most recent call last):
    assessments.engine.errors.EngineError: At column 17: write a number, a dimension or “(” \
here, not the end.
    """
    if not isinstance(formula, str) or not formula.strip():
        raise EngineError("", "Write a number or a formula over the dimensions.")
    reader = _Reader(tokens(formula))
    tree = reader.sum(0)
    if reader.now.kind != "end":
        raise wrong(reader.now.column, f"“{reader.now.text}” does not belong here")
    return tree


class _Reader:
    def __init__(self, words: list[Token]) -> None:
        self.words = words
        self.place = 0

    @property
    def now(self) -> Token:
        return self.words[self.place]

    def take(self, *signs: str) -> Token | None:
        if self.now.kind == "sign" and self.now.text in signs:
            self.place += 1
            return self.words[self.place - 1]
        return None

    def sum(self, depth: int) -> Node:
        tree = self.product(depth)
        while sign := self.take("+", "-"):
            tree = Node(sign, (tree, self.product(depth)))
        return tree

    def product(self, depth: int) -> Node:
        tree = self.signed(depth)
        while sign := self.take("*", "/"):
            tree = Node(sign, (tree, self.signed(depth)))
        return tree

    def signed(self, depth: int) -> Node:
        if depth > MAX_DEPTH:
            raise wrong(self.now.column, f"nested more than {MAX_DEPTH} deep")
        if sign := self.take("-"):
            return Node(sign, (self.signed(depth + 1),))
        return self.atom(depth + 1)

    def atom(self, depth: int) -> Node:
        word = self.now
        if word.kind in ("number", "name"):
            self.place += 1
            if word.text in FUNCTIONS:
                return Node(word, self.arguments(word, depth))
            if word.kind == "name" and self.now.text == "(":
                known = " and ".join(FUNCTIONS)
                raise wrong(word.column, f"there is no function “{word.text}”; known: {known}")
            return Node(word)
        if self.take("("):
            tree = self.sum(depth)
            self.close()
            return tree
        what = word.text if word.kind == "end" else f"“{word.text}”"
        raise wrong(word.column, f"write a number, a dimension or “(” here, not {what}")

    def arguments(self, word: Token, depth: int) -> tuple[Node, ...]:
        if not self.take("("):
            raise wrong(self.now.column, f"write “(” after {word.text}")
        found = [self.sum(depth)]
        while self.take(","):
            found.append(self.sum(depth))
        self.close()
        return tuple(found)

    def close(self) -> None:
        if not self.take(")"):
            raise wrong(self.now.column, "write “)” here")
