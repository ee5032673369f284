"""Sizes as people type them, and as a need document holds them."""

from django.utils.translation import gettext as _

from assessments.engine.errors import EngineError
from assessments.engine.numbers import decimal_places, decimal_text, exact, number_text, tidy
from assessments.engine.quantities import format_quantity, parse_quantity
from assessments.engine.units import UNITS

# Too small or too rare to be offered for a piece of work; a file may still name them.
_UNUSUAL = frozenset({"nm", "um", "nm2", "um2", "nm3", "um3"})


def exact_size(typed: str, unit: str) -> str:
    """Return what was typed as an exact number of ``unit``; EngineError says what to write.

    A unit typed beside the number is taken over into ``unit``.

    >>> exact_size("1 1/2", "in"), exact_size("2 in", "mm")
    ('1.5', '50.8')
    """
    if unit not in UNITS:
        raise EngineError("", _("Write a unit that is known first, such as in or mm."))
    found = parse_quantity(typed, unit)
    value = found.value if found.unit == unit else UNITS[unit].from_base(found.base)
    if value <= 0:
        raise EngineError("", _("Write a size above 0, or leave it empty."))
    return number_text(tidy(value) if not isinstance(value, int) else value)


def shown_size(text: str, unit: str) -> str:
    """Return an exact size as it is typed: inches and feet as mixed fractions.

    >>> shown_size("1.5", "in"), shown_size("38.1", "mm"), shown_size("253/254", "in")
    ('1 1/2', '38.1', '253/254')
    """
    value = exact(text)
    places = decimal_places(value, 6)
    if unit in ("in", "ft") and 64 % value.denominator == 0:
        return format_quantity(value, unit).removesuffix(unit).strip()
    return text if places is None else decimal_text(value, places)


def units_like(unit: str) -> list[str]:
    """Return the units in which a size of the same quantity is typed, ``unit`` first.

    >>> units_like("in")
    ['in', 'mm', 'cm', 'm', 'ft', 'yd']
    """
    dimension = UNITS[unit].dimension
    alike = [e.name for e in UNITS.values() if e.dimension == dimension and e.name not in _UNUSUAL]
    return [unit, *(name for name in alike if name != unit)]
