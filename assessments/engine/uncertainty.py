"""Uncertainty of a reading, guard bands, and the probability that a true value conforms.

JCGM 100:2008 (GUM), 4.3.7: what is only known to lie within ±a has, as a rectangular
distribution, the standard uncertainty a/√3. Two such parts are combined here in quadrature
(5.1.2):

- the instrument's maximum permissible error: a = the error;
- its resolution: a = half the resolution, once for each end that is read.

u² is a fraction, so everything that decides is compared by squares and stays exact: U = k·u and
the guard band w = r·U (JCGM 106:2012, 8.3.2) are irrational as a rule, and are written out only
as figures. For a spread, two values of one instrument are subtracted: u² counts twice. For
a mean, u² is not divided by the number of readings: one instrument errs the same way in each.
"""

from __future__ import annotations

from fractions import Fraction
from math import ceil

from assessments.engine.errors import EngineError
from assessments.engine.numbers import Exact

_CERTAIN = 6.0
# a and b in tenths of a millimetre.
_TAPES = {"I": (1, 1), "II": (3, 2), "III": (6, 4)}


def variance(maximum_permissible_error: Exact, resolution: Exact, ends: int) -> Fraction:
    """u², in the square of the unit that error and resolution are in.

    A rule read to 1 mm at one end, without an error of its own: u = 1/√12 mm.

    >>> variance(0, 1, 1)
    Fraction(1, 12)
    """
    half = Fraction(resolution) / 2
    return (Fraction(maximum_permissible_error) ** 2 + ends * half**2) / 3


def tape_error(accuracy_class: str, metres: Exact) -> Fraction:
    """The maximum permissible error in mm of a steel tape over a length, by its marked class.

    Directive 2014/32/EU, annex X, chapter I: a + b·L, with L rounded up to whole metres. The
    engine takes the error from the standard; this is for who writes one.

    >>> float(tape_error("II", 3))
    0.9
    """
    if accuracy_class not in _TAPES:
        raise EngineError("accuracy_class", f"Write one of: {', '.join(_TAPES)}.")
    if metres <= 0:
        raise EngineError("metres", "Write a length above 0.")
    a, b = _TAPES[accuracy_class]
    return Fraction(a + b * ceil(metres), 10)


def conforming_probability(
    value: float, lower: float | None, upper: float | None, u: float
) -> float:
    """The probability that the true value lies within the limits, given a normal spread u > 0.

    JCGM 106:2012, 7.2 to 7.4. Floats in any one unit: a figure for reports, deciding nothing.
    Uses only + - * / and square roots, whose results are the same on any machine.

    >>> round(conforming_probability(-5.47, None, -5.40, 0.05), 4)
    0.9192
    """
    below = 0.0 if lower is None else _normal((lower - value) / u)
    above = 1.0 if upper is None else _normal((upper - value) / u)
    return above - below


def probability_text(probability: float) -> str:
    """A probability with four places, cut off: it never reads 1 where it is less.

    >>> probability_text(0.99999), probability_text(0.91924)
    ('0.9999', '0.9192')
    """
    return f"0.{min(int(probability * 10_000), 9_999):04d}"


def _normal(z: float) -> float:
    """The standard normal distribution function, to about 8 places."""
    if abs(z) > _CERTAIN:
        return 1.0 if z > 0 else 0.0
    # z + z³/3 + z⁵/15 + …: every term has one sign, so nothing cancels.
    term = total = z
    n = 1
    while abs(term) > 1e-17 * abs(total):
        n += 2
        term *= z * z / n
        total += term
    return 0.5 + total * _exp(-z * z / 2) / 2.5066282746310002


def _exp(x: float) -> float:
    """e to the power of x, for x from -18 to 0: by its series at a small part of x."""
    term = total = 1.0
    part = x / 1024
    for n in range(1, 9):
        term *= part / n
        total += term
    for _ in range(10):
        total *= total
    return total
