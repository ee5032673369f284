"""Read the inputs of a sum, and keep them as they are shown."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from assessments.engine.errors import EngineError
from assessments.engine.fields import Document, at, choice, fields, items, number, text, whole
from assessments.engine.formula import Amount, evaluate, parse
from assessments.engine.numbers import Exact, exact, is_exact, number_text, percent_text, tidy
from assessments.engine.quantities import LENGTH, LONGEST_NM, format_quantity
from assessments.engine.units import UNITS, Unit, dimension_name

LENGTH_UNITS = ("in", "mm")


@dataclass
class Inputs:
    """The document of one sum; each input that is read is also kept in ``shown``."""

    document: Document
    dimensions: Mapping[str, Amount]
    shown: list[tuple[str, str]] = field(default_factory=list)

    @property
    def unit(self) -> str:
        """The unit of the sum's lengths."""
        return choice(self.document, "unit", LENGTH_UNITS)

    def has(self, name: str) -> bool:
        """Whether an optional input is written."""
        return self.document.get(name) is not None

    def length(self, name: str, label: str, *, zero: bool = False) -> Exact:
        """A length in the sum's unit: above 0, or from 0 where ``zero``."""
        written, unit = self.document[name], UNITS[self.unit]
        with at(name):
            nanometres = self._nanometres(written, unit)
            if nanometres < 0 or (nanometres == 0 and not zero):
                found = format_quantity(tidy(Fraction(nanometres) / unit.factor), unit.name)
                least = "0 or more" if zero else "above 0"
                raise EngineError("", f"This comes to {found}: write a length {least}.")
            if nanometres > LONGEST_NM:
                raise EngineError("", "This length is over 1 000 m: check it and its unit.")
        value = tidy(Fraction(nanometres) / unit.factor)
        end = "" if is_exact(written) else f" ({_formula(written)})"
        self.shown.append((label, format_quantity(value, unit.name) + end))
        return value

    def added(self, name: str, label: str) -> Exact:
        """A length that may be left out, and is 0 then."""
        return self.length(name, label, zero=True) if self.has(name) else 0

    def _nanometres(self, written: object, unit: Unit) -> Exact:
        if not isinstance(written, str):
            raise EngineError("", 'Write a number or a formula as text, such as "1/8".')
        if is_exact(written):
            return unit.to_base(exact(written))
        found = evaluate(parse(written), self.dimensions)
        if found.dimension != LENGTH:
            raise EngineError(
                "",
                f"“{written}” comes out as {dimension_name(found.dimension)}: write a length, "
                f"with a unit after each number, such as 1/8 in, or the name of a dimension.",
            )
        return found.value

    def waste(self) -> Exact:
        """The share for waste, from 0 to 1; 0 where it is left out."""
        if not self.has("waste"):
            return 0
        share = number(self.document, "waste")
        if share > 1:
            raise EngineError("waste", 'Write a share from 0 to 1, such as "0.15" for 15 %.')
        self.shown.append(("Waste", percent_text(share)))
        return share

    def count(self, name: str, label: str) -> int:
        """How many there are."""
        found = whole(self.document, name, 1, 1_000)
        self.shown.append((label, str(found)))
        return found

    def source(self, name: str, label: str) -> str:
        """Where figures come from."""
        found = text(self.document, name)
        self.shown.append((label, found))
        return found

    def spells(self, name: str, what: str, level: str, unit: str) -> Iterator[Spell]:
        """The rows {what, level, minutes} of a list."""
        for i, row in enumerate(items(self.document, name)):
            with at(f"{name}[{i}]"):
                fields(row, (what, level, "minutes"))
                found = Spell(
                    text(row, what), number(row, level), whole(row, "minutes", 1, 24 * 60)
                )
            told = f"{number_text(found.level)} {unit} for {found.minutes} min"
            self.shown.append((found.what, told))
            yield found


@dataclass(frozen=True, slots=True)
class Spell:
    """A tool or a piece of work, how strong it is, and for how many minutes of the day."""

    what: str
    level: Exact
    minutes: int


def _formula(written: str) -> str:
    """A formula as it is shown; a lone name reads as words."""
    return written.replace("_", " ") if written.replace("_", "").isalnum() else written
